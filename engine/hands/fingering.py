"""Fingers for a whole part: each hand cut into positions by harmony, each position fingered.

A position is what one hand plays while one harmony lasts; an anticipation
belongs to the harmony it anticipates. Positions are fingered each for itself
and remembered by their distances and key colours, so like figures have like
fingers everywhere and an edit costs what it changes. Only runs of single keys
(a bass line) look at their neighbours: they are fingered as one line.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, fields
from fractions import Fraction
from functools import lru_cache
from math import lcm
from operator import attrgetter
from typing import Any

from engine.hands.fingering_cost import cheapest_keys, is_black
from engine.hands.fingering_shapes import finger_strokes
from engine.part import PartNote, Role
from engine.song import Hand, Song

_NAMES = tuple(field.name for field in fields(PartNote))
_VALUES = attrgetter(*_NAMES)
_FINGER = _NAMES.index("finger")


def finger(notes: Sequence[PartNote], song: Song) -> tuple[PartNote, ...]:
    """The notes with a finger 1–5 for every one, in the order given.

    `notes` are sorted by onset. Chords wider than the song's reach are
    fingered as if they were rolled.
    """
    return tuple(
        note if note.finger == number else _fingered(note, number)
        for note, number in zip(notes, finger_numbers(notes, song), strict=True)
    )


def _fingered(note: PartNote, number: int) -> PartNote:
    """The note with that finger: `dataclasses.replace`, three times as fast."""
    values: tuple[Any, ...] = _VALUES(note)
    fingered = (*values[:_FINGER], number, *values[_FINGER + 1 :])
    return PartNote(*fingered)


def finger_numbers(notes: Sequence[PartNote], song: Song) -> list[int]:
    """The finger of each note, 1–5, in the order given."""
    fingers = [0] * len(notes)
    harmonies, onsets = _times(notes, song)
    for hand in Hand:
        positions = _positions(notes, harmonies, onsets, hand)
        _finger_hand(positions, hand is Hand.LEFT, song.reach, fingers)
    return fingers


@dataclass(slots=True)
class _Position:
    """What one hand strikes in one harmony: keys away from the thumb, and notes by place."""

    strokes: list[list[int]]
    places: list[list[int]]
    last: int = -1  # the onset of the last stroke

    def strike(self, key: int, place: int, onset: int) -> None:
        """Add a note: to the last stroke where both begin together."""
        if onset == self.last:
            stroke = self.strokes[-1]
            at = sum(other < key for other in stroke)
            stroke.insert(at, key)
            self.places[-1].insert(at, place)
        else:
            self.strokes.append([key])
            self.places.append([place])
            self.last = onset

    @property
    def single(self) -> bool:
        """Whether it is one key, struck once or again."""
        first = self.strokes[0]
        return len(first) == 1 and all(stroke == first for stroke in self.strokes)


def _times(notes: Sequence[PartNote], song: Song) -> tuple[list[int], list[int]]:
    """For each note the harmony it falls in, counted through the song, and its onset in ticks."""
    grid = lcm(
        *{note.onset.denominator for note in notes},
        *{bar.start.denominator for bar in song.bars},
        *{slot.onset.denominator for bar in song.bars for slot in bar.slots},
    )
    onsets = [_ticks(note.onset, grid) for note in notes]
    starts = [
        _ticks(bar.start, grid) + _ticks(slot.onset, grid)
        for bar in song.bars
        for slot in bar.slots
    ]
    return [bisect_right(starts, onset) for onset in onsets], onsets


def _ticks(time: Fraction, grid: int) -> int:
    return time.numerator * (grid // time.denominator)


def _positions(
    notes: Sequence[PartNote], harmonies: Sequence[int], onsets: Sequence[int], hand: Hand
) -> list[_Position]:
    """A hand's notes by harmony, strokes in time; anticipations with what they anticipate."""
    sign = -1 if hand is Hand.LEFT else 1
    found: list[_Position] = []
    early: list[int] = []
    harmony = -1
    for place, note in enumerate(notes):
        if note.hand is not hand:
            continue
        if note.role is Role.ANTICIPATION:
            early.append(place)
            continue
        if harmonies[place] != harmony:
            harmony = harmonies[place]
            found.append(_Position([], []))
            for ahead in early:
                found[-1].strike(sign * notes[ahead].pitch.midi, ahead, onsets[ahead])
            early = []
        found[-1].strike(sign * note.pitch.midi, place, onsets[place])
    if early:
        found.append(_Position([], []))
        for ahead in early:
            found[-1].strike(sign * notes[ahead].pitch.midi, ahead, onsets[ahead])
    return found


def _finger_hand(
    positions: Sequence[_Position], left: bool, reach: int, fingers: list[int]
) -> None:
    line: list[_Position] = []
    before: _Position | None = None
    for position in positions:
        if position.single:
            line.append(position)
            continue
        # Octaves do not matter, so positions are remembered within one.
        shift = position.strokes[0][0] // 12 * 12
        strokes = tuple(tuple(key - shift for key in stroke) for stroke in position.strokes)
        chosen = finger_strokes(strokes, left, reach)
        for places, numbers in zip(position.places, chosen, strict=True):
            for place, number in zip(places, numbers, strict=True):
                fingers[place] = number
        _finger_line(line, before, position, left, fingers)
        before, line = position, []
    _finger_line(line, before, None, left, fingers)


def _finger_line(
    line: Sequence[_Position],
    before: _Position | None,
    after: _Position | None,
    left: bool,
    fingers: list[int],
) -> None:
    """Finger positions of a single key each as one line between their fingered neighbours."""
    if not line:
        return
    keys = [position.strokes[0][0] for position in line]
    first = last = None
    if before is not None:
        at = _nearest(before.strokes[-1], keys[0])
        first = fingers[before.places[-1][at]]
        keys.insert(0, before.strokes[-1][at])
    if after is not None:
        at = _nearest(after.strokes[0], keys[-1])
        last = fingers[after.places[0][at]]
        keys.append(after.strokes[0][at])
    shift = keys[0] // 12 * 12
    chosen = _line_fingers(tuple(key - shift for key in keys), left, first, last)
    own = chosen[1:] if before is not None else chosen
    for position, number in zip(line, own, strict=False):
        for places in position.places:
            fingers[places[0]] = number


@lru_cache(maxsize=2048)
def _line_fingers(
    keys: tuple[int, ...], left: bool, first: int | None, last: int | None
) -> tuple[int, ...]:
    black = [is_black(-key if left else key) for key in keys]
    return cheapest_keys(keys, black, first, last)


def _nearest(stroke: Sequence[int], key: int) -> int:
    """The place in a stroke of the key nearest to another."""
    return min(range(len(stroke)), key=lambda at: abs(stroke[at] - key))
