"""Lists to choose from: commands, keys, figures, chords, dials, the plan; what each line does."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from engine.errors import InputError
from engine.song import Song
from engine.workshop import (
    Chooser,
    Cursor,
    Extent,
    ListKind,
    Loop,
    Notice,
    Outcome,
    Work,
    change,
    edits,
    practice,
    reading_of,
    refuse,
    say,
    steering,
)
from engine.workshop.own_figures import own_figures
from tui import practice_lists
from tui.commands import Command, Keymap, key_text, table
from tui.item import Item
from tui.view import signed

if TYPE_CHECKING:
    from engine.figures import Figure
    from engine.reharm import Suggestion

EXTENTS = tuple(Extent)
PAGE = 8


def items(work: Work, keymap: Keymap) -> tuple[Item, ...]:
    """The lines of the open list, narrowed by what was typed."""
    chooser = work.chooser
    if chooser is None:
        return ()
    match chooser.kind:
        case ListKind.PALETTE:
            found = [
                _command(work, command, keymap)
                for command in table()
                if not command.name.startswith("chord-")
            ]
        case ListKind.KEYS:
            return _keys(work, keymap)
        case ListKind.FIGURES:
            written = getattr(work.bar.settings, chooser.hand.value) or ""
            found = [_as_it_stands(written)]
            found += _own_figures(chooser)
            found += [_figure(chooser, figure, figure.name) for figure in _figures(work, chooser)]
        case ListKind.CHORDS:
            return (_as_it_stands(work.slot.typed), *_chords(work.song, work.cursor))
        case ListKind.DIALS:
            found = practice_lists.dial_items(work)
        case ListKind.PLAN:
            return practice_lists.plan_items(work)
    return tuple(item for item in found if _matches(chooser.query, item))


def _matches(query: str, item: Item) -> bool:
    """Whether every word typed begins a word of the line."""
    words = f"{item.label} {item.detail} {item.keys}".lower().split()
    return all(
        any(word.startswith(part) or part in word for word in words)
        for part in query.lower().split()
    )


def _command(work: Work, command: Command, keymap: Keymap) -> Item:
    keys = " ".join(key_text(key) for key in keymap.keys_of(command))
    return Item(command.title, command.group, keys, command.reason(work), run=command.run)


def _keys(work: Work, keymap: Keymap) -> tuple[Item, ...]:
    """Headings, and under them what each key does in the pane under the hand."""
    lines: list[Item] = [Item(f"In the {work.pane} pane", heading=True)]
    own = [command for command in table() if command.panes and command.works_in(work.pane)]
    lines += _key_lines(own, keymap)
    group = ""
    for command in table():
        if command.panes or not keymap.keys_of(command):
            continue
        if command.group != group:
            group = command.group
            lines.append(Item(group, heading=True))
        lines += _key_lines([command], keymap)
    lines.append(Item("While typing", heading=True))
    lines += [
        Item("Take the line", keys="Enter"),
        Item("Leave it", keys="Esc"),
        Item("Take the nearest symbol that is offered", keys="Tab"),
        Item("The colon lists commands that have no key", keys=":"),
    ]
    return tuple(lines)


def _key_lines(commands: list[Command], keymap: Keymap) -> list[Item]:
    lines = []
    for command in commands:
        if command.name.startswith("chord-") and command.name != "chord-a":
            continue
        keys = " ".join(key_text(key) for key in keymap.keys_of(command))
        if command.name == "chord-a":
            lines.append(Item("Write a chord (N: no chord)", keys="A–G N"))
        elif keys:
            lines.append(Item(command.title, keys=keys))
    return lines


def _as_it_stands(label: str) -> Item:
    return Item(label.replace("#", "♯"), "as it stands", song=lambda work: work.song)


def _figures(work: Work, chooser: Chooser) -> list[Figure]:
    """The hand's figures, those made for this meter first."""
    from engine.figures import catalogue

    meter = work.bar.meter
    own = [figure for figure in catalogue() if figure.hand is chooser.hand]
    return sorted(own, key=lambda figure: figure.meter != meter)


def _own_figures(chooser: Chooser) -> list[Item]:
    """The writer's own figures: written into the song as tokens, so that it plays anywhere."""
    try:
        own = own_figures()
    except InputError as error:
        return [Item("Your own figures", refusal=error.message)]
    return [_figure(chooser, each, each.text) for each in own if each.hand is chooser.hand]


def _figure(chooser: Chooser, figure: Figure, text: str) -> Item:
    """A figure to choose, which writes `text`."""
    hand, extent = chooser.hand, chooser.extent

    def song(work: Work) -> Song:
        return steering.with_setting(work, work.song, extent, hand.value, text)

    def run(work: Work) -> Work:
        return steering.set_figure(work, hand, extent, text)

    meter = figure.meter.name if figure.meter else ""
    speed = f"{figure.slowest}–{figure.fastest}" if figure.fastest else ""
    grade = f"difficulty {figure.difficulty}" if figure.difficulty else ""
    detail = "  ".join(part for part in (meter, figure.text, grade, speed) if part)
    return Item(figure.name, detail, song=song, run=run)


@lru_cache(maxsize=64)
def _chords(song: Song, at: Cursor) -> tuple[Item, ...]:
    from engine.reharm import suggest  # its statistics load when first asked for

    found = suggest(song, reading_of(song), at.bar, at.slot, count=12)
    return tuple(_other(at, each) for each in found)


def _other(at: Cursor, each: Suggestion) -> Item:
    symbols = each.symbol.split()

    def song(work: Work) -> Song:
        return edits.with_chords(work.song, at, symbols)

    def everywhere(work: Work) -> Song:
        found = work.song
        for place in reversed(edits.like_places(work.song, at)):
            found = edits.with_chords(found, place, symbols)
        return found

    def run(work: Work) -> Work:
        return change(work, song(work), f"Bar {at.bar}: {each.symbol}, {each.technique}")

    return Item(
        each.pretty,
        signed(f"{each.technique}. {each.why}"),
        signed(each.roman),
        song=song,
        run=run,
        everywhere=everywhere,
    )


def picked(work: Work, keymap: Keymap) -> Item | None:
    """The line under the hand."""
    found = items(work, keymap)
    if work.chooser is None or not found:
        return None
    return found[min(work.chooser.index, len(found) - 1)]


def press(work: Work, key: str, character: str | None, keymap: Keymap) -> Outcome:
    """A key in an open list."""
    chooser = work.chooser
    assert chooser is not None
    count = len(items(work, keymap))
    steps = {"up": -1, "down": 1, "pageup": -PAGE, "pagedown": PAGE, "home": -count, "end": count}
    if key == "escape":
        return Outcome(replace(work, chooser=None, trial=None, notice=Notice()))
    if key in steps:
        index = min(max(0, min(chooser.index, count - 1) + steps[key]), max(0, count - 1))
        return Outcome(_tried(replace(work, chooser=replace(chooser, index=index)), keymap))
    if key == "enter":
        return _chosen(work, keymap)
    if chooser.kind in (ListKind.DIALS, ListKind.PLAN) and key in ("left", "right", "tab", "space"):
        return practice_lists.press(work, key, picked(work, keymap))
    if key == "tab" and chooser.kind is ListKind.FIGURES:
        following = EXTENTS[(EXTENTS.index(chooser.extent) + 1) % len(EXTENTS)]
        return Outcome(_tried(replace(work, chooser=replace(chooser, extent=following)), keymap))
    if key == "space" and chooser.kind in (ListKind.CHORDS, ListKind.FIGURES):
        return practice.play_or_stop(_around(work))
    if chooser.kind is ListKind.CHORDS and key in ("tab", "a"):
        return Outcome(_against(work, keymap) if key == "tab" else _everywhere(work, keymap))
    if chooser.kind is ListKind.KEYS:
        return Outcome(replace(work, chooser=None))
    return Outcome(_narrowed(work, chooser, key, character, keymap))


def _narrowed(
    work: Work, chooser: Chooser, key: str, character: str | None, keymap: Keymap
) -> Work:
    query = chooser.query
    if key == "backspace":
        query = query[:-1]
    elif key == "ctrl+u":
        query = ""
    elif character and character.isprintable():
        query += character
    if query == chooser.query or chooser.kind in (ListKind.CHORDS, ListKind.PLAN):
        return work
    return _tried(replace(work, chooser=replace(chooser, query=query, index=0)), keymap)


def _tried(work: Work, keymap: Keymap) -> Work:
    """The work with the line under the hand tried out."""
    item = picked(work, keymap)
    if item is None or item.song is None:
        return replace(work, trial=None)
    try:
        song = item.song(work)
    except InputError as error:
        return refuse(replace(work, trial=None), error.message)
    return replace(work, trial=None if song == work.song else song, notice=Notice())


def _around(work: Work) -> Work:
    """The work with a loop around the bar under the cursor, where none is set."""
    if work.loop is not None or work.playing:
        return work
    bar = work.cursor.bar
    return replace(work, loop=Loop(max(1, bar - 1), min(len(work.song.bars), bar + 1)))


def _against(work: Work, keymap: Keymap) -> Work:
    """A against B: what stands there, or again what is tried out."""
    if work.trial is None:
        return _tried(work, keymap)
    return say(replace(work, trial=None), "As it stands; Tab: as tried out")


def _everywhere(work: Work, keymap: Keymap) -> Work:
    """Take the line under the hand at every place like this one."""
    item = picked(work, keymap)
    if item is None or item.everywhere is None:
        return refuse(work, "Nothing in the list to take")
    count = len(edits.like_places(work.song, work.cursor))
    closed = replace(work, chooser=None, trial=None)
    where = "this place" if count == 1 else f"{count} like places"
    return change(closed, item.everywhere(closed), f"{item.label} at {where}")


def _chosen(work: Work, keymap: Keymap) -> Outcome:
    item = picked(work, keymap)
    if item is None:
        return Outcome(refuse(work, "Nothing in the list fits what was typed"))
    if item.refusal:
        return Outcome(refuse(work, item.refusal))
    closed = replace(work, chooser=None, trial=None, notice=Notice())
    if item.run is None:
        return Outcome(closed)
    if item.stays:
        closed = replace(work, notice=Notice())
    try:
        result = item.run(closed)
    except InputError as error:
        return Outcome(refuse(closed, error.message))
    return result if isinstance(result, Outcome) else Outcome(result)
