"""Fingers for what lies under one hand position, and for what needs several.

The published model fingers lines; a pianist fingers shapes: the same chord
shape takes the same fingers in whatever order it is broken. So chord shapes
and arpeggios take the standard fingerings of the table, other shapes the
cheapest fingers of the published model with one finger a key, and only what
has more keys than fingers is fingered note by note.

Keys are counted away from the thumb, as in `fingering_cost`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import combinations, pairwise

import shared
from engine.hands.fingering_cost import LineCosts, cheapest_keys, is_black

Struck = tuple[int, ...]  # the keys struck together, ascending


@dataclass(frozen=True, slots=True)
class Standard:
    """Gaps in semitones that decide the standard fingerings; see the table."""

    two: tuple[tuple[int, int], ...]
    outer_from: int
    member_gap: int
    three_inner: int
    three_close: int
    four_outer: int
    black_third_inner: int
    black_third_outer: int


@cache
def standard() -> Standard:
    """The standard fingerings of shared/tables/fingering.toml."""
    row = tomllib.loads(shared.text("tables", "fingering.toml"))["standard"]
    return Standard(**{**row, "two": tuple((limit, finger) for limit, finger in row["two"])})


@lru_cache(maxsize=8192)
def finger_strokes(
    strokes: tuple[Struck, ...], left: bool, reach: int
) -> tuple[tuple[int, ...], ...]:
    """A finger for each key of each stroke, for the strokes of one harmony in one hand.

    `strokes` are told up to octaves: only their distances and the colours of
    their keys matter, so callers may move them by octaves to share results.
    """
    keys = sorted({key for stroke in strokes for key in stroke})
    if len(keys) <= 5 and keys[-1] - keys[0] <= reach:
        held = _position(tuple(keys), left)
        return tuple(tuple(held[key] for key in stroke) for stroke in strokes)
    if any(len(stroke) > 1 for stroke in strokes):
        return _by_positions(strokes, left, reach)
    line = tuple(stroke[0] for stroke in strokes)
    black = tuple(_is_black(key, left) for key in line)
    run = _arpeggio(tuple(keys), left)
    if run is not None:
        fingers: Sequence[int] = [run[key] for key in line]
    elif len(keys) <= 5:
        held = _steady(line, black)
        fingers = [held[key] for key in line]
    else:
        fingers = cheapest_keys(line, black)
    return tuple((finger,) for finger in fingers)


def _is_black(key: int, left: bool) -> bool:
    return is_black(-key if left else key)


@lru_cache(maxsize=4096)
def _position(keys: tuple[int, ...], left: bool) -> dict[int, int]:
    """Up to five keys under one hand that need not move."""
    gaps = [high - low for low, high in pairwise(keys)]
    width = keys[-1] - keys[0]
    rule = standard()
    if len(keys) == 2:
        finger = next((finger for limit, finger in rule.two if width <= limit), 5)
        return {keys[0]: 1, keys[1]: finger}
    if width >= rule.outer_from and len(keys) == 3:
        middle = 2 if gaps[1] >= rule.three_inner else 4 if gaps[1] <= rule.three_close else 3
        return dict(zip(keys, (1, middle, 5), strict=True))
    if len(keys) == 4 and min(gaps) >= rule.member_gap:
        third = _third_finger(gaps[1], gaps[2], _is_black(keys[2], left))
        return dict(zip(keys, (1, 2, third, 5), strict=True))
    line = keys + keys[-2::-1]
    costs = LineCosts(line, tuple(_is_black(key, left) for key in line))
    best: tuple[int, tuple[int, ...]] | None = None
    for fingers in combinations((1, 2, 3, 4, 5), len(keys)):
        total = costs.total(fingers + fingers[-2::-1])
        if best is None or total < best[0]:
            best = (total, fingers)
    assert best is not None
    return dict(zip(keys, best[1], strict=True))


def _third_finger(inner: int, outer: int, black: bool) -> int:
    """Third or fourth finger on the third key from the thumb, by the gaps around it."""
    rule = standard()
    if outer >= rule.four_outer or (
        black and inner <= rule.black_third_inner and outer >= rule.black_third_outer
    ):
        return 3
    return 4


def _arpeggio(keys: tuple[int, ...], left: bool) -> dict[int, int] | None:
    """The standard fingers of a chord's keys over more than an octave, or None.

    Only where the keys are all the chord's notes between their ends, three or
    four an octave. The thumb takes the first key where that is white, else the
    first white key from there; each octave has the same fingers; a key alone before
    the thumb takes the second finger rather than the fourth, and a last key that
    need not be passed takes the fifth rather than the thumb.
    """
    classes = sorted({key % 12 for key in keys})
    size = len(classes)
    if size not in (3, 4) or len(keys) <= size + 1:
        return None
    if any(
        high - low != keys[size] - keys[0] for low, high in zip(keys, keys[size:], strict=False)
    ):
        return None
    if keys[size] - keys[0] != 12 or any(b - a < standard().member_gap for a, b in pairwise(keys)):
        return None
    thumb = next((n for n in range(size) if not _is_black(keys[n], left)), 0)
    octave = [*keys[thumb : thumb + size], keys[thumb] + 12]
    cycle: tuple[int, ...] = (1, 2, 3, 4)
    if size == 3:
        gaps = [high - low for low, high in pairwise(octave)]
        cycle = (1, 2, _third_finger(gaps[1], gaps[2], _is_black(octave[2], left)))
    fingers = [cycle[(n - thumb) % size] for n in range(len(keys))]
    if thumb == 1 and fingers[0] == 4:
        fingers[0] = 2
    if fingers[-1] == 1:
        fingers[-1] = 5
    return dict(zip(keys, fingers, strict=True))


def _steady(line: Sequence[int], black: Sequence[bool]) -> dict[int, int]:
    """The cheapest fingers by the published model where each key keeps its finger.

    Branch and bound: a beginning is given up where even the freest end would
    not make it better than the best found.
    """
    costs = LineCosts(line, black)
    to_go = costs.to_go()
    held: dict[int, int] = {}
    least = 10**9
    best: dict[int, int] = {}

    def walk(at: int, total: int, state: int) -> None:
        nonlocal least, best
        if at == len(line):
            least, best = total, dict(held)
            return
        key = line[at]
        known = key in held
        for finger in (held[key],) if known else (1, 2, 3, 4, 5):
            after = state % 5 * 5 + finger - 1
            reached = total + costs.added(at, state, finger)
            if reached + (to_go[at - 1][after] if at else 0) < least:
                held[key] = finger
                walk(at + 1, reached, after)
        if not known:
            held.pop(key, None)

    walk(0, 0, 0)
    return best


def _by_positions(
    strokes: tuple[Struck, ...], left: bool, reach: int
) -> tuple[tuple[int, ...], ...]:
    """Strokes with chords that one position cannot hold: a position for as long as it can.

    A key alone takes the outer finger on its side of what comes next or before.
    A stroke beyond the hand is spread over the fingers in order.
    """
    positions: list[list[Struck]] = []
    held: set[int] = set()
    for stroke in strokes:
        wider = held | set(stroke)
        if positions and len(wider) <= 5 and max(wider) - min(wider) <= reach:
            positions[-1].append(stroke)
            held = wider
        else:
            positions.append([stroke])
            held = set(stroke)
    found: list[tuple[int, ...]] = []
    for index, position in enumerate(positions):
        keys = sorted({key for stroke in position for key in stroke})
        if len(keys) == 1:
            other = positions[index + 1 if index + 1 < len(positions) else index - 1][0]
            fingers = {keys[0]: 5 if keys[0] > other[-1] else 1}
        elif len(keys) <= 5:
            fingers = _position(tuple(keys), left)
        else:
            fingers = {key: 1 + n * 5 // len(keys) for n, key in enumerate(keys)}
        found.extend(tuple(fingers[key] for key in stroke) for stroke in position)
    return tuple(found)
