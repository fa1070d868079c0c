"""Fingers for a whole part: each hand cut into positions by harmony, each position fingered.

A position is what one hand plays while one harmony lasts; an anticipation
belongs to the harmony it anticipates. Positions are fingered each for itself
and remembered by their distances and key colours, so like figures have like
fingers everywhere and an edit costs what it changes. Only runs of single keys
(a bass line) look at their neighbours: they are fingered as one line; and where
one finger would slide to the next position by step, a position's last keys do.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import groupby
from math import lcm
from typing import Any

from engine.hands.fingering_cost import cheapest_keys, in_reach, is_black
from engine.hands.fingering_shapes import finger_strokes
from engine.part import PartNote, Role
from engine.song import Hand, Song

_Rows = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """The notes of both hands that begin while one harmony lasts, by onset.

    Groups compare by identity: what was fingered once is remembered by it.
    """

    notes: tuple[PartNote, ...]


def finger_groups(groups: Sequence[Group], reach: int) -> list[tuple[int, ...]]:
    """The finger of each note, 1–5, of each group of a song in order.

    Chords wider than `reach` (semitones) are fingered as if they were rolled.
    """
    return [tuple(numbers) for numbers in _numbers(groups, reach)]


def finger_numbers(notes: Sequence[PartNote], song: Song) -> list[int]:
    """The finger of each note, 1–5, in the order given; `notes` are sorted by onset."""
    groups = list(_groups(notes, song))
    return [number for numbers in _numbers(groups, song.reach) for number in numbers]


def _groups(notes: Sequence[PartNote], song: Song) -> Iterator[Group]:
    """The notes by the harmony in which they begin."""
    grid = lcm(
        *{note.onset.denominator for note in notes},
        *{bar.start.denominator for bar in song.bars},
        *{slot.onset.denominator for bar in song.bars for slot in bar.slots},
    )
    starts = [
        _ticks(bar.start, grid) + _ticks(slot.onset, grid)
        for bar in song.bars
        for slot in bar.slots
    ]
    for _, own in groupby(notes, lambda note: bisect_right(starts, _ticks(note.onset, grid))):
        yield Group(tuple(own))


def _ticks(time: Fraction, grid: int) -> int:
    return time.numerator * (grid // time.denominator)


@dataclass(frozen=True, slots=True)
class _Strokes:
    """What one hand strikes in a group: keys away from the thumb, and notes by place in it.

    The `early` ones anticipate the next group, with their places; a key that both harmonies
    share and that is struck with them is one of them.
    """

    keys: _Rows
    places: _Rows
    early: _Rows
    early_places: _Rows


@lru_cache(maxsize=32768)
def _strokes(group: Group, hand: Hand) -> _Strokes:
    sign = -1 if hand is Hand.LEFT else 1
    ahead = {
        note.onset for note in group.notes if note.hand is hand and note.role is Role.ANTICIPATION
    }
    found: list[Any] = []
    for early in (False, True):
        own = [
            (note.onset, sign * note.pitch.midi, place)
            for place, note in enumerate(group.notes)
            if note.hand is hand and (note.onset in ahead) is early
        ]
        rows = [sorted(row[1:] for row in rows) for _, rows in groupby(own, lambda row: row[0])]
        found += [tuple(tuple(item[at] for item in row) for row in rows) for at in (0, 1)]
    return _Strokes(*found)


@dataclass(frozen=True, slots=True)
class _Position:
    """What one hand strikes in one harmony, anticipations of it first; where its notes stand."""

    keys: _Rows
    places: tuple[tuple[int, _Rows], ...]  # (group, places in it), one place a key

    @property
    def single(self) -> bool:
        """Whether it is one key, struck once or again."""
        first = self.keys[0]
        return len(first) == 1 and self.keys.count(first) == len(self.keys)

    def put(self, chosen: Sequence[Sequence[int]], fingers: Sequence[list[int]]) -> None:
        """Write fingers, by stroke and key, to where the notes stand."""
        at = 0
        for group, rows in self.places:
            own = fingers[group]
            for row in rows:
                for place, number in zip(row, chosen[at], strict=True):
                    own[place] = number
                at += 1


def _positions(groups: Sequence[Group], hand: Hand) -> Iterator[_Position]:
    """A hand's positions in time; anticipations are in the one they anticipate."""
    keys: _Rows = ()
    places: tuple[tuple[int, _Rows], ...] = ()
    for index, group in enumerate(groups):
        own = _strokes(group, hand)
        if own.keys:
            yield _Position(keys + own.keys, (*places, (index, own.places)))
            keys, places = own.early, ((index, own.early_places),)
        elif own.early:
            keys, places = keys + own.early, (*places, (index, own.early_places))
    if keys:
        yield _Position(keys, places)


def _numbers(groups: Sequence[Group], reach: int) -> list[list[int]]:
    """The finger of each note of each group."""
    fingers = [[0] * len(group.notes) for group in groups]
    for hand in Hand:
        _finger_hand(_positions(groups, hand), hand is Hand.LEFT, reach, fingers)
    return fingers


@lru_cache(maxsize=16384)
def _fingers(keys: _Rows, left: bool, reach: int) -> _Rows:
    """The fingers of a position's strokes; octaves do not matter."""
    shift = keys[0][0] // 12 * 12
    strokes = tuple(tuple(key - shift for key in stroke) for stroke in keys)
    return finger_strokes(strokes, left, reach)


#: A position with its fingers by stroke and key.
_Done = tuple[_Position, Sequence[Sequence[int]]]


def _finger_hand(
    positions: Iterator[_Position], left: bool, reach: int, fingers: Sequence[list[int]]
) -> None:
    line: list[_Position] = []
    before: _Done | None = None
    for position in positions:
        if position.single:
            line.append(position)
            continue
        after = position, _fingers(position.keys, left, reach)
        position.put(after[1], fingers)
        if before is not None and not line:
            led = _leading(before, after, left)
            if led is not before[1]:
                before[0].put(led, fingers)
        _finger_line(line, before, after, left, fingers)
        before, line = after, []
    _finger_line(line, before, None, left, fingers)


#: A step in semitones, and how many keys may take other fingers for it.
_STEP, _LEADING = 2, 3


def _leading(before: _Done, after: _Done, left: bool) -> Sequence[Sequence[int]]:
    """The fingers of a position that lead into the next one.

    Where its last key and the next one are a step apart and have the same finger, as few of its
    last keys as can take the cheapest others, so that a finger crosses or lies beside.
    """
    (position, chosen), (following, taken) = before, after
    keys = position.keys
    at = _nearest(following.keys[0], keys[-1][0])
    key, finger = following.keys[0][at], taken[0][at]
    step = abs(keys[-1][0] - key)
    if len(keys[-1]) > 1 or chosen[-1][0] != finger or not 0 < step <= _STEP:
        return chosen
    for count in range(1, min(_LEADING, len(keys) - 1) + 1):
        if len(keys[-count]) > 1:
            break
        at = _nearest(keys[-count - 1], keys[-count][0])
        line = [keys[-count - 1][at], *(stroke[0] for stroke in keys[-count:]), key]
        found = _line_fingers(_shifted(line), left, chosen[-count - 1][at], finger)
        if in_reach(line, found):
            return [*chosen[:-count], *((finger,) for finger in found[1:-1])]
    return chosen


def _shifted(keys: Sequence[int]) -> tuple[int, ...]:
    """Keys in the octave of the first: what is remembered of them serves in every octave."""
    shift = keys[0] // 12 * 12
    return tuple(key - shift for key in keys)


def _finger_line(
    line: Sequence[_Position],
    before: _Done | None,
    after: _Done | None,
    left: bool,
    fingers: Sequence[list[int]],
) -> None:
    """Finger positions of a single key each as one line between their fingered neighbours."""
    if not line:
        return
    keys = [position.keys[0][0] for position in line]
    first = last = None
    if before is not None:
        at = _nearest(before[0].keys[-1], keys[0])
        first = before[1][-1][at]
        keys.insert(0, before[0].keys[-1][at])
    if after is not None:
        at = _nearest(after[0].keys[0], keys[-1])
        last = after[1][0][at]
        keys.append(after[0].keys[0][at])
    chosen = _line_fingers(_shifted(keys), left, first, last)
    own = chosen[1:] if before is not None else chosen
    for position, number in zip(line, own, strict=False):
        position.put([(number,)] * len(position.keys), fingers)


@lru_cache(maxsize=2048)
def _line_fingers(
    keys: tuple[int, ...], left: bool, first: int | None, last: int | None
) -> tuple[int, ...]:
    black = [is_black(-key if left else key) for key in keys]
    return cheapest_keys(keys, black, first, last)


def _nearest(stroke: Sequence[int], key: int) -> int:
    """The place in a stroke of the key nearest to another."""
    return min(range(len(stroke)), key=lambda at: abs(stroke[at] - key))
