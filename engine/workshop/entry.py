"""Typing a line: the caret, the keys that edit it, and what the line means so far."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from engine.chord import is_no_chord, parse_chord
from engine.errors import AlbertiError, ChordError, InputError
from engine.meter import Meter
from engine.song import Bar, Hand, Song, read_bar, set_melody
from engine.workshop.work import Entry

#: Keys that edit the line, by Textual's names.
EDITING = frozenset(
    {"left", "right", "home", "end", "backspace", "delete", "ctrl+u", "ctrl+w", "ctrl+k"}
    | {"ctrl+a", "ctrl+e"}
)


def insert(entry: Entry, text: str) -> Entry:
    """The line with text at the caret."""
    clean = "".join(letter for letter in text if letter.isprintable())
    if entry.fresh:
        entry = replace(entry, text="", caret=0, fresh=False)
    line = entry.text[: entry.caret] + clean + entry.text[entry.caret :]
    return replace(entry, text=line, caret=entry.caret + len(clean))


def edit(entry: Entry, key: str) -> Entry:
    """The line after one of the editing keys."""
    entry = replace(entry, fresh=False)
    text, caret = entry.text, entry.caret
    match key:
        case "left":
            return replace(entry, caret=max(0, caret - 1))
        case "right":
            return replace(entry, caret=min(len(text), caret + 1))
        case "home" | "ctrl+a":
            return replace(entry, caret=0)
        case "end" | "ctrl+e":
            return replace(entry, caret=len(text))
        case "backspace":
            gone = max(0, caret - 1)
            return replace(entry, text=text[:gone] + text[caret:], caret=gone)
        case "delete":
            return replace(entry, text=text[:caret] + text[caret + 1 :])
        case "ctrl+u":
            return replace(entry, text=text[caret:], caret=0)
        case "ctrl+k":
            return replace(entry, text=text[:caret])
        case "ctrl+w":
            kept = text[:caret].rstrip()
            kept = kept[: kept.rfind(" ") + 1]
            return replace(entry, text=kept + text[caret:], caret=len(kept))
    return entry


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a line cannot be taken yet: the span (start, end) in it, the words, a better line."""

    span: tuple[int, int]
    message: str
    cure: str = ""
    better: str = ""


def fault_of(error: AlbertiError, text: str, better: str = "") -> Fault:
    """An error of reading `text` as something to underline."""
    start = error.place.column - 1 if error.place else 0
    start = min(max(0, start), max(0, len(text) - 1))
    length = error.place.length if error.place else len(text)
    end = min(len(text), start + max(1, length))
    if isinstance(error, ChordError) and error.suggestion:
        better = error.suggestion
    return Fault((start, max(end, start + 1)), error.message, error.cure, better)


def symbol_fault(text: str) -> Fault | None:
    """What is wrong with a chord symbol, `N.C.`, `?` or `%`; None where nothing is."""
    if not text.strip() or text.strip() in ("?", "%") or is_no_chord(text):
        return None
    try:
        parse_chord(text)
    except ChordError as error:
        return fault_of(error, text)
    return None


def bar_fault(text: str, meter: Meter, before: Bar | None) -> Fault | None:
    """What is wrong with a bar's text in its meter; None where nothing is."""
    if not text.strip():
        return None
    try:
        read_bar(text, meter, before)
    except InputError as error:
        return fault_of(error, text)
    return None


def tokens_fault(text: str, hand: Hand, meter: Meter) -> Fault | None:
    """What is wrong with a figure's tokens or name; None where nothing is."""
    if not text.strip():
        return None
    from engine.figures import find_figure

    try:
        find_figure(text.strip(), hand, meter)
    except InputError as error:
        return fault_of(error, text)
    return None


@lru_cache(maxsize=8)
def melody_tried(song: Song, first: int, last: int, text: str) -> Song | Fault:
    """The song with the melody typed for some bars, or what is wrong with it."""
    try:
        return set_melody(song, first, last, text)
    except InputError as error:
        return fault_of(error, text)


def chord_fault(text: str, meter: Meter, before: Bar | None) -> Fault | None:
    """What is wrong with what is typed over a chord: a symbol or, with blanks, a whole bar."""
    if len(text.split()) > 1:
        return bar_fault(text, meter, before)
    return symbol_fault(text)
