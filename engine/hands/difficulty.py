"""How hard a part is to play: a grade for each bar and for the piece, and why.

Speed, awkward fingers (the published cost), wide stretches, jumps and the
hands' independence give points to a bar; the points are those of
shared/tables/difficulty.toml. The piece's grade lies between the grade that a
quarter of its bars reach and that of its hardest bar.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from math import gcd, lcm
from typing import NamedTuple

import shared
from engine.hands.fingering import finger_numbers
from engine.hands.fingering_cost import keys_of, line_total
from engine.meter import Meter
from engine.part import PartNote
from engine.pitch import Interval
from engine.song import Hand, Song

_CROSS = "beats divided by three against two"


@dataclass(frozen=True, slots=True)
class BarDifficulty:
    """`grade` 1–9 with a fraction; `reasons` what costs most, first the heaviest."""

    bar: int
    grade: float
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Difficulty:
    """The piece's grade 1–9, each bar's, and the hardest bars, hardest first."""

    grade: int
    bars: tuple[BarDifficulty, ...]
    hardest: tuple[BarDifficulty, ...]


@cache
def _table() -> tuple[dict[str, float], dict[str, int]]:
    data = tomllib.loads(shared.text("tables", "difficulty.toml"))
    return data["points"], data["grade"]


class _Stroke(NamedTuple):
    """Keys struck together: when in the bar (in its `grid`), MIDI numbers and fingers."""

    at: int
    midis: tuple[int, ...]
    fingers: tuple[int, ...]


class _Played(NamedTuple):
    """A bar as it is played; equal ones have equal grades. `grid` ticks make a whole note."""

    meter: Meter
    tempo: float
    reach: int
    grid: int
    left: tuple[_Stroke, ...]
    right: tuple[_Stroke, ...]

    @property
    def tick(self) -> float:
        """The seconds of a tick."""
        return 60 / (self.tempo * float(self.meter.beat)) / self.grid

    @property
    def beat(self) -> int:
        """The ticks of a beat, where the grid holds it."""
        return int(self.meter.beat * self.grid)


def difficulty(notes: Sequence[PartNote], song: Song) -> Difficulty:
    """How hard the notes are at the song's tempo, for a hand of the song's reach.

    Notes without a finger are fingered first. Bars without notes have grade 1.
    """
    numbers: Sequence[int | None] = [note.finger for note in notes]
    if None in numbers:
        numbers = finger_numbers(notes, song)
    grid = lcm(
        *{note.onset.denominator for note in notes},
        *{bar.start.denominator for bar in song.bars},
        *{2 * bar.meter.unit for bar in song.bars},
    )
    starts = [bar.start.numerator * (grid // bar.start.denominator) for bar in song.bars]
    struck: dict[tuple[int, Hand], dict[int, list[tuple[int, int]]]] = {}
    for note, number in zip(notes, numbers, strict=True):
        onset = note.onset
        at = onset.numerator * (grid // onset.denominator) - starts[note.bar - 1]
        row = struck.setdefault((note.bar, note.hand), {})
        row.setdefault(at, []).append((note.pitch.midi, number or 1))
    bars = []
    for bar in song.bars:
        left, right = (
            tuple(
                _Stroke(at, tuple(midi for midi, _ in keys), tuple(finger for _, finger in keys))
                for at, keys in struck.get((bar.number, hand), {}).items()
            )
            for hand in (Hand.LEFT, Hand.RIGHT)
        )
        grade, reasons = _graded(_Played(bar.meter, bar.tempo, song.reach, grid, left, right))
        bars.append(BarDifficulty(bar.number, grade, reasons))
    limits = _table()[1]
    grades = sorted(bar.grade for bar in bars)
    if not grades:
        return Difficulty(limits["lowest"], (), ())
    whole = round((grades[len(grades) * 3 // 4] + grades[-1]) / 2)
    hardest = sorted(bars, key=lambda bar: -bar.grade)[: limits["hardest"]]
    return Difficulty(whole, tuple(bars), tuple(bar for bar in hardest if bar.reasons))


@lru_cache(maxsize=4096)
def _graded(played: _Played) -> tuple[float, tuple[str, ...]]:
    """A bar's grade and what it is for, the heaviest first."""
    points, limits = _table()
    costs: list[tuple[float, str]] = []
    for hand, strokes in ((Hand.LEFT, played.left), (Hand.RIGHT, played.right)):
        if strokes:
            costs += _hand_costs(hand, strokes, played)
    costs += _together_costs(played)
    # The more is hard already, the less one more thing adds.
    share = 1 - math.exp(-sum(cost for cost, _ in costs) / points["scale"])
    costs.sort(key=lambda cost: -cost[0])
    grade = limits["lowest"] + (limits["highest"] - limits["lowest"]) * share
    return round(grade, 2), tuple(text for cost, text in costs if cost >= points["named"])


def _hand_costs(hand: Hand, strokes: Sequence[_Stroke], played: _Played) -> list[tuple[float, str]]:
    points = _table()[0]
    where = f"in the {hand.value} hand"
    reach = played.reach
    speed = _speed(strokes, played.tick)
    pressure = min(1.0, speed / points["fingering_speed"])
    awkward = _awkwardness(hand, strokes, reach)
    span = max(max(stroke.midis) - min(stroke.midis) for stroke in strokes)
    most = max(len(stroke.midis) for stroke in strokes)
    jump, far = 0.0, 0
    for one, two in pairwise(strokes):
        width = max(one.midis + two.midis) - min(one.midis + two.midis)
        pace = (width - reach) / ((two.at - one.at) * played.tick)
        if pace > jump:
            jump, far = pace, width
    wide = max(0.0, span - points["span_from"]) + max(0, span - reach)
    pushed = points["pushed"] * _syncopations(played, strokes)
    return [
        (
            points["speed"] * max(0.0, speed - points["speed_from"]),
            f"{speed:.1f} strokes a second {where}",
        ),
        (points["fingering"] * awkward * pressure, f"awkward fingers {where}"),
        (points["span"] * wide, f"a stretch of {_size(span)} {where}"),
        (points["chord"] * max(0.0, most - points["chord_from"]), f"{most} notes at once {where}"),
        (min(points["most_jump"], points["jump"] * jump), f"a jump of {_size(far)} {where}"),
        (min(points["most_pushed"], pushed), f"beats anticipated {where}"),
    ]


def _size(semitones: int) -> str:
    return Interval.of_semitones(semitones).words


def _awkwardness(hand: Hand, strokes: Sequence[_Stroke], reach: int) -> float:
    """The published fingering cost a stroke, of the line and of the chords on it.

    Of a chord the note nearest the line's last one stands in the line. Where the
    hand must jump, it lifts and begins anew.
    """
    total = 0
    line: list[int] = []
    fingers: list[int] = []
    for stroke in strokes:
        if len(stroke.midis) > 1:
            total += line_total(*keys_of(stroke.midis, hand), stroke.fingers)
        last = line[-1] if line else stroke.midis[0]
        at = min(range(len(stroke.midis)), key=lambda n: abs(stroke.midis[n] - last))
        if line and abs(stroke.midis[at] - last) > reach:
            total += line_total(*keys_of(line, hand), fingers)
            line, fingers = [], []
        line.append(stroke.midis[at])
        fingers.append(stroke.fingers[at])
    return (total + line_total(*keys_of(line, hand), fingers)) / len(strokes)


def _together_costs(played: _Played) -> list[tuple[float, str]]:
    points = _table()[0]
    lefts = {stroke.at for stroke in played.left}
    rights = {stroke.at for stroke in played.right}
    if not lefts or not rights:
        return []
    alone = min(len(lefts - rights) / len(lefts), len(rights - lefts) / len(rights))
    slower = min(_speed(played.left, played.tick), _speed(played.right, played.tick))
    return [
        (points["independence"] * alone, "hands that strike at different times"),
        (points["both_fast"] * slower, "both hands moving"),
        (points["cross"] * _crosses(played.beat, lefts, rights), _CROSS),
    ]


def _speed(strokes: Sequence[_Stroke], tick: float) -> float:
    """Strokes a second where the hand is busiest: over three strokes in a row."""
    if len(strokes) < 2:
        return 0.0
    width = min(3, len(strokes) - 1)
    shortest = min(strokes[at + width].at - strokes[at].at for at in range(len(strokes) - width))
    return width / (shortest * tick)


def _syncopations(played: _Played, strokes: Sequence[_Stroke]) -> int:
    """How many strokes stand in the second half of a beat and last over the next one."""
    beat = played.beat
    ends = [*(stroke.at for stroke in strokes[1:]), int(played.meter.bar * played.grid) + 1]
    return sum(
        2 * (stroke.at % beat) >= beat and end > stroke.at - stroke.at % beat + beat
        for stroke, end in zip(strokes, ends, strict=True)
    )


def _crosses(beat: int, lefts: set[int], rights: set[int]) -> bool:
    """Whether one hand divides a beat by three where the other does by two."""
    divided: dict[int, dict[bool, set[bool]]] = {}
    for side, onsets in ((False, lefts), (True, rights)):
        for onset in onsets:
            number, part = divmod(onset, beat)
            if part:
                threes = (beat // gcd(part, beat)) % 3 == 0
                divided.setdefault(number, {}).setdefault(side, set()).add(threes)
    return any(
        len(sides) == 2 and len(sides[False] | sides[True]) == 2 for sides in divided.values()
    )
