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
from fractions import Fraction
from functools import cache
from itertools import pairwise

import shared
from engine.hands.fingering import finger_numbers
from engine.hands.fingering_cost import keys_of, line_total
from engine.part import PartNote
from engine.song import Bar, Hand, Song


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


@dataclass(slots=True)
class _Stroke:
    onset: Fraction
    midis: list[int]
    fingers: list[int]


def difficulty(notes: Sequence[PartNote], song: Song) -> Difficulty:
    """How hard the notes are at the song's tempo, for a hand of the song's reach.

    Notes without a finger are fingered first. Bars without notes have grade 1.
    """
    numbers: Sequence[int | None] = [note.finger for note in notes]
    if None in numbers:
        numbers = finger_numbers(notes, song)
    strokes: dict[tuple[int, Hand], list[_Stroke]] = {}
    for note, number in zip(notes, numbers, strict=True):
        row = strokes.setdefault((note.bar, note.hand), [])
        if not row or row[-1].onset != note.onset:
            row.append(_Stroke(note.onset, [], []))
        row[-1].midis.append(note.pitch.midi)
        row[-1].fingers.append(number or 1)
    bars = tuple(
        _bar(bar, {hand: strokes.get((bar.number, hand), []) for hand in Hand}, song.reach)
        for bar in song.bars
    )
    limits = _table()[1]
    grades = sorted(bar.grade for bar in bars)
    if not grades:
        return Difficulty(limits["lowest"], (), ())
    grade = round((grades[len(grades) * 3 // 4] + grades[-1]) / 2)
    hardest = sorted(bars, key=lambda bar: -bar.grade)[: limits["hardest"]]
    return Difficulty(grade, bars, tuple(bar for bar in hardest if bar.reasons))


def _bar(bar: Bar, hands: dict[Hand, list[_Stroke]], reach: int) -> BarDifficulty:
    points, limits = _table()
    seconds = 60 / (bar.tempo * float(bar.meter.beat))  # a whole note
    costs: list[tuple[float, str]] = []
    for hand, strokes in hands.items():
        if strokes:
            costs += _hand_costs(hand, strokes, seconds, reach)
            pushed = _syncopations(bar, strokes)
            costs.append(
                (
                    min(points["most_pushed"], points["pushed"] * pushed),
                    f"beats anticipated in the {hand.value} hand",
                )
            )
    costs += _together_costs(bar, hands, seconds)
    # The more is hard already, the less one more thing adds.
    share = 1 - math.exp(-sum(cost for cost, _ in costs) / points["scale"])
    costs.sort(key=lambda cost: -cost[0])
    return BarDifficulty(
        bar.number,
        round(limits["lowest"] + (limits["highest"] - limits["lowest"]) * share, 2),
        tuple(text for cost, text in costs if cost >= points["named"]),
    )


def _hand_costs(
    hand: Hand, strokes: Sequence[_Stroke], seconds: float, reach: int
) -> list[tuple[float, str]]:
    points = _table()[0]
    where = f"in the {hand.value} hand"
    costs = []
    speed = _speed(strokes, seconds)
    costs.append(
        (
            points["speed"] * max(0.0, speed - points["speed_from"]),
            f"{speed:.1f} strokes a second {where}",
        )
    )
    awkward = _awkwardness(hand, strokes, reach)
    pressure = min(1.0, speed / points["fingering_speed"])
    costs.append((points["fingering"] * awkward * pressure, f"awkward fingers {where}"))
    span = max(max(stroke.midis) - min(stroke.midis) for stroke in strokes)
    costs.append(
        (
            points["span"] * (max(0.0, span - points["span_from"]) + max(0, span - reach)),
            f"a stretch of {span} semitones {where}",
        )
    )
    most = max(len(stroke.midis) for stroke in strokes)
    costs.append(
        (points["chord"] * max(0.0, most - points["chord_from"]), f"{most} notes at once {where}")
    )
    jump, far = 0.0, 0
    for one, two in pairwise(strokes):
        both = one.midis + two.midis
        beyond = max(both) - min(both) - reach
        pace = beyond / (float(two.onset - one.onset) * seconds)
        if pace > jump:
            jump, far = pace, max(both) - min(both)
    costs.append(
        (
            min(points["most_jump"], points["jump"] * jump),
            f"a jump over {far} semitones {where}",
        )
    )
    return costs


def _awkwardness(hand: Hand, strokes: Sequence[_Stroke], reach: int) -> float:
    """The published fingering cost a note; where the hand must jump, it lifts and begins anew."""
    total, notes = 0, 0
    line: list[int] = []
    fingers: list[int] = []
    for stroke in strokes:
        if line and abs(stroke.midis[0] - line[-1]) > reach:
            total += line_total(*keys_of(line, hand), fingers)
            line, fingers = [], []
        line += stroke.midis
        fingers += stroke.fingers
        notes += len(stroke.midis)
    return (total + line_total(*keys_of(line, hand), fingers)) / notes


def _together_costs(
    bar: Bar, hands: dict[Hand, list[_Stroke]], seconds: float
) -> list[tuple[float, str]]:
    points = _table()[0]
    left, right = hands[Hand.LEFT], hands[Hand.RIGHT]
    if not left or not right:
        return []
    lefts = {stroke.onset for stroke in left}
    rights = {stroke.onset for stroke in right}
    alone = min(len(lefts - rights) / len(lefts), len(rights - lefts) / len(rights))
    slower = min(_speed(left, seconds), _speed(right, seconds))
    crossing = _crosses(bar, lefts, rights)
    return [
        (points["independence"] * alone, "hands that strike at different times"),
        (points["both_fast"] * slower, "both hands moving"),
        (points["cross"] * crossing, "beats divided by three against two"),
    ]


def _speed(strokes: Sequence[_Stroke], seconds: float) -> float:
    """Strokes a second where the hand is busiest: over three strokes in a row."""
    if len(strokes) < 2:
        return 0.0
    width = min(3, len(strokes) - 1)
    shortest = min(
        strokes[at + width].onset - strokes[at].onset for at in range(len(strokes) - width)
    )
    return width / (float(shortest) * seconds)


def _syncopations(bar: Bar, strokes: Sequence[_Stroke]) -> int:
    """How many strokes stand on a weak place and last over a stronger one of the bar."""
    strong = [
        (bar.start + n * bar.meter.beat, bar.meter.strength(n * bar.meter.beat))
        for n in range(bar.meter.beats)
    ]
    ends = [stroke.onset for stroke in strokes[1:]] + [bar.end + bar.meter.beat / 8]
    strong.append((bar.end, 4))
    return sum(
        any(
            stroke.onset < at < end and weight > bar.meter.strength(stroke.onset - bar.start)
            for at, weight in strong
        )
        for stroke, end in zip(strokes, ends, strict=True)
        if bar.meter.strength(stroke.onset - bar.start) < 2
    )


def _crosses(bar: Bar, lefts: set[Fraction], rights: set[Fraction]) -> bool:
    """Whether one hand divides a beat by three where the other does by two."""
    divided: dict[int, dict[bool, set[bool]]] = {}
    for side, onsets in ((False, lefts), (True, rights)):
        for onset in onsets:
            at = (onset - bar.start) / bar.meter.beat
            part = at % 1
            if part:
                divided.setdefault(int(at), {}).setdefault(side, set()).add(
                    part.denominator % 3 == 0
                )
    return any(
        len(sides) == 2 and len(sides[False] | sides[True]) == 2 for sides in divided.values()
    )
