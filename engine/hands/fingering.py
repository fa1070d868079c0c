"""Fingers for a whole part: each hand cut into positions by harmony, each position fingered.

A position is what one hand plays while one harmony lasts; an anticipation
belongs to the harmony it anticipates. Positions are fingered each for itself
and remembered by their distances and key colours, so like figures have like
fingers everywhere and an edit costs what it changes. Only runs of single keys
(a bass line) look at their neighbours: they are fingered as one line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
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
    for hand in Hand:
        _finger_hand(notes, song, hand, fingers)
    return fingers


@dataclass(slots=True)
class _Position:
    """What one hand strikes in one harmony: keys away from the thumb, and notes by place."""

    strokes: list[list[int]]
    places: list[list[int]]

    @property
    def single(self) -> bool:
        """Whether it is one key, struck once or again."""
        first = self.strokes[0]
        return len(first) == 1 and all(stroke == first for stroke in self.strokes)


def _finger_hand(notes: Sequence[PartNote], song: Song, hand: Hand, fingers: list[int]) -> None:
    left = hand is Hand.LEFT
    line: list[_Position] = []
    before: _Position | None = None
    for position in _positions(notes, song, hand):
        if position.single:
            line.append(position)
            continue
        # Octaves do not matter, so positions are remembered within one.
        shift = position.strokes[0][0] // 12 * 12
        strokes = tuple(tuple(key - shift for key in stroke) for stroke in position.strokes)
        chosen = finger_strokes(strokes, left, song.reach)
        for places, numbers in zip(position.places, chosen, strict=True):
            for place, number in zip(places, numbers, strict=True):
                fingers[place] = number
        _finger_line(line, before, position, left, fingers)
        before, line = position, []
    _finger_line(line, before, None, left, fingers)


def _positions(notes: Sequence[PartNote], song: Song, hand: Hand) -> list[_Position]:
    """A hand's notes by harmony, strokes in time; anticipations with what they anticipate."""
    sign = -1 if hand is Hand.LEFT else 1
    bars = song.bars
    found: list[_Position] = []
    early: list[int] = []
    harmony: tuple[int, int] | None = None
    for place, note in enumerate(notes):
        if note.hand is not hand:
            continue
        if note.role is Role.ANTICIPATION:
            early.append(place)
            continue
        bar = bars[note.bar - 1]
        now = (note.bar, 0)
        if len(bar.slots) > 1:
            at = note.onset - bar.start
            now = (note.bar, sum(slot.onset <= at for slot in bar.slots))
        if now != harmony:
            harmony = now
            found.append(_Position([], []))
            for ahead in early:
                _strike(found[-1], notes, ahead, sign)
            early = []
        _strike(found[-1], notes, place, sign)
    if early:
        found.append(_Position([], []))
        for ahead in early:
            _strike(found[-1], notes, ahead, sign)
    return found


def _strike(position: _Position, notes: Sequence[PartNote], place: int, sign: int) -> None:
    """Add a note to a position: to its last stroke where both begin together."""
    key = sign * notes[place].pitch.midi
    if position.places and notes[position.places[-1][0]].onset == notes[place].onset:
        stroke, places = position.strokes[-1], position.places[-1]
        at = sum(other < key for other in stroke)
        stroke.insert(at, key)
        places.insert(at, place)
    else:
        position.strokes.append([key])
        position.places.append([place])


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
