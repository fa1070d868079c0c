"""What an arrangement starts from: every harmony in its place, and what is asked of its bar."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from engine.errors import FigureError, InputError, Place
from engine.figures import Figure, find_figure
from engine.hands import Tones, tones_of
from engine.harmony import Reading, read_chord
from engine.pitch import Note, Pitch
from engine.song import Bar, Hand, Song
from engine.song.build import named

#: Names of inversions a shape may be pinned to: which member lies lowest.
INVERSIONS = {
    "root position": 0, "root": 0, "first inversion": 1, "first": 1,
    "second inversion": 2, "second": 2, "third inversion": 3, "third": 3,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Spot:
    """One harmony in its place: index of its bar, of its slot, onset in the bar, duration.

    `start`, `end` and `bar_end` are in whole notes from the song's beginning.
    `tones` is None where nothing sounds (N.C. and open bars). `renewed` is
    false where the harmony of the slot before goes on unchanged.
    """

    bar: int
    slot: int
    onset: Fraction
    duration: Fraction
    start: Fraction
    end: Fraction
    bar_end: Fraction
    tones: Tones | None
    renewed: bool = True


@dataclass(frozen=True, slots=True)
class Pin:
    """A pinned shape: all pitches, or an inversion, or the top note; and the bass."""

    pitches: tuple[int, ...] = ()
    inversion: int | None = None
    top: int | None = None
    top_pc: int | None = None
    bass: int | None = None


@dataclass(frozen=True, slots=True)
class Trouble:
    """A text of a song's settings that cannot be read: whose it is, which field, and why.

    `section` counts from 0 (None at the top), `bar` from 1 in its section.
    """

    section: int | None
    bar: int | None
    field: str
    error: InputError


def spots(song: Song, reading: Reading) -> tuple[Spot, ...]:
    """Every harmony of the song in order, as the reading spells it."""
    found: list[Spot] = []
    for index, bar in enumerate(song.bars):
        starts = [bar.start + slot.onset if slot.onset else bar.start for slot in bar.slots]
        ends = [*starts[1:], bar.end]
        for number, slot in enumerate(bar.slots):
            tones = None
            if slot.chord is not None:
                read = reading.at(bar.number, number) or read_chord(slot.chord, bar.key)
                tones = tones_of(read)
            before = found[-1] if number else None
            renewed = before is None or before.tones is not tones
            times = slot.onset, slot.duration, starts[number], ends[number], ends[-1]
            found.append(Spot(index, number, *times, tones, renewed))
    return tuple(found)


def figure_of(bar: Bar, hand: Hand) -> Figure | None:
    """The figure written for a hand of a bar, fitted to its meter, or None."""
    text = bar.settings.right if hand is Hand.RIGHT else bar.settings.left
    return None if text is None else find_figure(text, hand, bar.meter)


def pins_of(bar: Bar) -> tuple[Pin, ...]:
    """A bar's pinned shapes, one for each of its harmonies from the first on.

    Written as pitches low to high (`G3 C4 E4`), an inversion (`first
    inversion`), a top note (`top E4`, `top E`) or a bass (`bass C3`), several
    of them with commas between, one group for each chord with `|` between.
    Raises FigureError.
    """
    return () if bar.own.shape is None else _pins(bar.own.shape)


@lru_cache(maxsize=256)
def _pins(text: str) -> tuple[Pin, ...]:
    pins, at = [], 0
    for group in text.split("|"):
        pins.append(_pin(group, at, text))
        at += len(group) + 1
    return tuple(pins)


def _pin(group: str, start: int, text: str) -> Pin:
    pin = Pin()
    at = start
    for item in group.split(","):
        words = [(word[0], at + word.start()) for word in re.finditer(r"\S+", item)]
        at += len(item) + 1
        try:
            pin = _read_pin(pin, " ".join(item.split()), words)
        except FigureError as error:
            raise error.at(replace(error.place or Place(), text=text)) from None
    return pin


def _read_pin(pin: Pin, item: str, words: list[tuple[str, int]]) -> Pin:
    """The pin with one more of its items; `words` are the item's with their offsets."""
    if not words:
        return pin
    if item.lower() in INVERSIONS:
        return replace(pin, inversion=INVERSIONS[item.lower()])
    if words[0][0] == "bass" and len(words) == 2:
        return replace(pin, bass=_pitch(*words[1]))
    if words[0][0] == "top" and len(words) == 2:
        if words[1][0][-1].isdigit():
            return replace(pin, top=_pitch(*words[1]))
        return replace(pin, top_pc=_pitch_class(*words[1]))
    return replace(pin, pitches=tuple(sorted({_pitch(*word) for word in words})))


def _pitch(word: str, at: int) -> int:
    try:
        return Pitch.parse(word).midi
    except InputError:
        raise _no_shape(word, at) from None


def _pitch_class(word: str, at: int) -> int:
    try:
        return Note.parse(word).pc
    except InputError:
        raise _no_shape(word, at) from None


def _no_shape(word: str, at: int) -> FigureError:
    return FigureError(
        f"“{word}” is no shape",
        "write pitches like “G3 C4 E4”, an inversion like “first inversion”, “top E4” or “bass C3”",
        Place(at + 1, len(word)),
    )


def _texts(song: Song) -> Iterator[tuple[int | None, int | None, str, str]]:
    """Every figure and shape text of the song, with whose and which it is."""
    for field in ("right", "left"):
        if (text := getattr(song.settings, field)) is not None:
            yield None, None, field, text
    for index, section in enumerate(song.sections):
        for field in ("right", "left"):
            if (text := getattr(section.settings, field)) is not None:
                yield index, None, field, text
        for number, own in section.bar_settings:
            for field in ("right", "left"):
                if (text := getattr(own.settings, field)) is not None:
                    yield index, number, field, text
            if own.shape is not None:
                yield index, number, "shape", own.shape


def song_troubles(song: Song) -> tuple[Trouble, ...]:
    """What of a song's figures and pinned shapes cannot be read, in the order of the file."""
    found = []
    for section, bar, field, text in _texts(song):
        try:
            if field == "shape":
                _pins(text)
            else:
                find_figure(text, Hand(field))
        except InputError as error:
            found.append(Trouble(section, bar, field, error))
    return tuple(found)


def check_song(song: Song) -> None:
    """Raise FigureError for the first figure or pinned shape that cannot be read.

    The message names section, bar and field; `song_troubles` gives them apart.
    """
    for trouble in song_troubles(song):
        where = [trouble.field]
        if trouble.section is not None:
            where.append(named(song.sections[trouble.section], trouble.section))
        if trouble.bar is not None:
            where.append(f"bar {trouble.bar}")
        error = trouble.error
        raise FigureError(
            f"{' of '.join(where[:2])}{''.join(f', {w}' for w in where[2:])}: {error.message}",
            error.cure,
            error.place,
        ) from None
