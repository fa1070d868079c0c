"""How loud each note is: the written dynamic, voice, meter and phrase.

A written velocity only says how far a note stands off the others of its hand
in its bar (an accent of the figure); the level itself is the dynamic's where
the part has dynamics, so that neither is counted twice.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from statistics import median_low

from engine.part import Dynamic, Part, PartNote, Role
from engine.perform.table import Balance, Table
from engine.song import Bar, Hand, Song

Level = Callable[[Fraction], float]


def dynamic_level(dynamics: Sequence[Dynamic], velocities: Mapping[str, int]) -> Level | None:
    """Velocity at each place from marks and hairpins, or None where there is no mark.

    A hairpin leads in a straight line to the next mark, or by one step of the
    scale of marks where none follows.
    """
    marks = [(d.onset, velocities[d.mark]) for d in dynamics if d.mark in velocities]
    if not marks:
        return None
    steps = sorted(velocities.values())
    points: list[tuple[Fraction, float, bool]] = [(at, level, False) for at, level in marks]
    ordered = sorted(dynamics, key=lambda d: d.onset)
    for index, hairpin in enumerate(ordered):
        if hairpin.mark not in ("<", ">"):
            continue
        before = [level for at, level in marks if at <= hairpin.onset]
        level = float(before[-1] if before else marks[0][1])
        ends = [d for d in ordered[index + 1 :] if d.mark == "end" or d.mark in velocities]
        following = [m for m in marks if m[0] > hairpin.onset]
        points.append((hairpin.onset, level, True))
        if not following and ends:
            near = min(range(len(steps)), key=lambda n: abs(steps[n] - level))
            step = near + (1 if hairpin.mark == "<" else -1)
            points.append((ends[0].onset, steps[max(0, min(step, len(steps) - 1))], False))
    # At one place the hairpin that begins there comes after the mark it begins from.
    points.sort(key=lambda point: (point[0], point[2]))
    places = [at for at, _, _ in points]

    def level_at(onset: Fraction) -> float:
        index = bisect_right(places, onset) - 1
        if index < 0:
            return points[0][1]
        at, level, moving = points[index]
        if not moving or index + 1 == len(points):
            return level
        end, goal, _ = points[index + 1]
        return level + (goal - level) * float((onset - at) / (end - at))

    return level_at


def phrase_lift(song: Song, balance: Balance) -> list[float]:
    """For each bar how far its phrase rises there, 0 at the phrase's ends to 1 in its middle.

    Phrases are groups of `phrase_bars` bars of a section; a last group of one
    bar joins the one before it.
    """
    lifts = [0.0] * len(song.bars)
    start = 0
    while start < len(song.bars):
        end = start
        while end < len(song.bars) and song.bars[end].section == song.bars[start].section:
            end += 1
        size = balance.phrase_bars
        cuts = list(range(start, end, size))
        if len(cuts) > 1 and end - cuts[-1] == 1:
            cuts.pop()
        for low, high in zip(cuts, [*cuts[1:], end], strict=True):
            for bar in range(low, high):
                lifts[bar] = math.sin(math.pi * (bar - low + 0.5) / (high - low))
        start = end
    return lifts


def velocities(part: Part, song: Song, table: Table) -> list[int]:
    """The velocity of each of the part's notes, 1–127, in their order."""
    balance = table.balance
    level = dynamic_level(part.dynamics, table.velocity)
    lifts = phrase_lift(song, balance)
    bars = {bar.number: bar for bar in song.bars}
    tops, basses = _outer_voices(part.notes, bars)
    middles = _middles(part.notes) if level else {}
    found = []
    for index, note in enumerate(part.notes):
        bar = bars[note.bar]
        if level:
            loud = level(note.onset) + note.velocity - middles[note.bar, note.hand]
        else:
            loud = float(note.velocity)
        loud += balance.meter[bar.meter.strength(note.onset - bar.start)]
        loud += balance.phrase * (lifts[note.bar - 1] - 0.5)
        if note.hand is Hand.RIGHT:
            loud += balance.top if index in tops else balance.inner
        else:
            loud += balance.bass if index in basses else balance.left
        if note.role is Role.DOUBLING:
            loud += balance.doubling
        elif note.role.outside:
            loud += balance.outside
        found.append(max(1, min(127, round(loud))))
    return found


def _middles(notes: Sequence[PartNote]) -> dict[tuple[int, Hand], int]:
    """The middle written velocity of each hand in each bar."""
    seen: dict[tuple[int, Hand], list[int]] = {}
    for note in notes:
        seen.setdefault((note.bar, note.hand), []).append(note.velocity)
    return {place: median_low(values) for place, values in seen.items()}


def _outer_voices(notes: Sequence[PartNote], bars: Mapping[int, Bar]) -> tuple[set[int], set[int]]:
    """Which notes are the right hand's top voice and the left hand's bass.

    The top voice of a harmony are the notes at its highest pitch of role chord
    or doubling and whatever lies above it; its bass are the notes at its lowest.
    """
    harmonies: dict[tuple[int, Fraction, Hand], list[int]] = {}
    for index, note in enumerate(notes):
        bar = bars[note.bar]
        slot = bar.slot_at(note.onset - bar.start).onset if bar.slots else Fraction(0)
        harmonies.setdefault((note.bar, slot, note.hand), []).append(index)
    tops: set[int] = set()
    basses: set[int] = set()
    for (_, _, hand), members in harmonies.items():
        pitches = {index: notes[index].pitch.midi for index in members}
        if hand is Hand.LEFT:
            lowest = min(pitches.values())
            basses.update(index for index in members if pitches[index] == lowest)
            continue
        own = [pitches[index] for index in members if not notes[index].role.outside]
        highest = max(own or pitches.values())
        tops.update(index for index in members if pitches[index] >= highest)
    return tops, basses
