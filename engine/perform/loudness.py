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

from engine.meter import Meter
from engine.part import Dynamic, Part, PartNote, Role
from engine.perform.table import Balance, Table
from engine.perform.ticks import Ticks
from engine.song import Hand, Song
from engine.song.melody import MelodyNote

_PLAIN = (Role.CHORD, Role.BASS)

Level = Callable[[int], float]


def dynamic_level(
    dynamics: Sequence[Dynamic], velocities: Mapping[str, int], ticks: Ticks
) -> Level | None:
    """Velocity at each tick from marks and hairpins, or None where there is no mark.

    A hairpin leads in a straight line to the next mark, or by one step of the
    scale of marks where none follows.
    """
    ordered = sorted(dynamics, key=lambda d: d.onset)
    marks = [(ticks.of(d.onset), velocities[d.mark]) for d in ordered if d.mark in velocities]
    if not marks:
        return None
    steps = sorted(velocities.values())
    points: list[tuple[int, float, bool]] = [(at, level, False) for at, level in marks]
    for index, hairpin in enumerate(ordered):
        if hairpin.mark not in ("<", ">"):
            continue
        start = ticks.of(hairpin.onset)
        before = [level for at, level in marks if at <= start]
        level = float(before[-1] if before else marks[0][1])
        points.append((start, level, True))
        end = next((d for d in ordered[index + 1 :] if d.mark == "end"), None)
        if end is not None and not any(at > start for at, _ in marks):
            near = min(range(len(steps)), key=lambda n: abs(steps[n] - level))
            step = near + (1 if hairpin.mark == "<" else -1)
            points.append((ticks.of(end.onset), steps[max(0, min(step, len(steps) - 1))], False))
    # At one place the hairpin that begins there comes after the mark it begins from.
    points.sort(key=lambda point: (point[0], point[2]))
    places = [at for at, _, _ in points]

    def level_at(tick: int) -> float:
        index = bisect_right(places, tick) - 1
        if index < 0:
            return points[0][1]
        at, level, moving = points[index]
        if not moving or index + 1 == len(points):
            return level
        end, goal, _ = points[index + 1]
        return level + (goal - level) * (tick - at) / (end - at)

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


def velocities(part: Part, song: Song, table: Table, ticks: Ticks) -> list[int]:
    """The velocity of each of the part's notes, 1–127, in their order."""
    balance = table.balance
    level = dynamic_level(part.dynamics, table.velocity, ticks)
    lifts = [balance.phrase * (lift - 0.5) for lift in phrase_lift(song, balance)]
    starts = [ticks.of(bar.start) for bar in song.bars]
    outer = _outer_voices(part.notes, song, ticks, starts)
    middles = _middles(part.notes) if level else {}
    accents: dict[Meter, dict[int, int]] = {}
    found = []
    for index, note in enumerate(part.notes):
        bar = song.bars[note.bar - 1]
        tick = ticks.onsets[index]
        if level:
            loud = level(tick) + note.velocity - middles[note.bar, note.hand]
        else:
            loud = float(note.velocity)
        own = accents.setdefault(bar.meter, {})
        place = tick - starts[note.bar - 1]
        if place not in own:
            own[place] = balance.meter[bar.meter.strength(Fraction(place, ticks.grid))]
        loud += own[place] + lifts[note.bar - 1]
        if note.hand is Hand.RIGHT:
            loud += balance.top if outer[index] else balance.inner
        else:
            loud += balance.bass if outer[index] else balance.left
        if note.role is Role.DOUBLING:
            loud += balance.doubling
        elif note.role not in _PLAIN:
            loud += balance.outside
        found.append(max(1, min(127, round(loud))))
    return found


def melody_velocities(
    notes: Sequence[MelodyNote], part: Part, song: Song, table: Table, ticks: Ticks
) -> list[int]:
    """The velocity of each melody note: over the hands' dynamic, with the phrase and the meter."""
    balance = table.balance
    level = dynamic_level(part.dynamics, table.velocity, ticks)
    lifts = phrase_lift(song, balance)
    found = []
    for note in notes:
        bar = song.bar_at(note.onset)
        loud = level(int(note.onset * ticks.grid)) if level else float(table.velocity["mf"])
        loud += balance.melody + balance.phrase * (lifts[bar.number - 1] - 0.5)
        loud += balance.meter[bar.meter.strength(note.onset - bar.start)]
        found.append(max(1, min(127, round(loud))))
    return found


def _middles(notes: Sequence[PartNote]) -> dict[tuple[int, Hand], int]:
    """The middle written velocity of each hand in each bar."""
    seen: dict[tuple[int, Hand], list[int]] = {}
    for note in notes:
        seen.setdefault((note.bar, note.hand), []).append(note.velocity)
    return {place: median_low(values) for place, values in seen.items()}


def _outer_voices(
    notes: Sequence[PartNote], song: Song, ticks: Ticks, starts: Sequence[int]
) -> list[bool]:
    """For each note whether it is the right hand's top voice or the left hand's bass.

    The top voice of a harmony are the notes at its highest pitch of role chord
    or doubling and whatever lies above it; its bass are the notes at its lowest.
    """
    slots = [
        [start + ticks.of(slot.onset) for slot in bar.slots]
        for bar, start in zip(song.bars, starts, strict=True)
    ]
    places = [
        (note.bar, bisect_right(slots[note.bar - 1], tick) if len(slots[note.bar - 1]) > 1 else 1)
        for note, tick in zip(notes, ticks.onsets, strict=True)
    ]
    tops: dict[tuple[int, int], int] = {}
    chords: dict[tuple[int, int], int] = {}
    lows: dict[tuple[int, int], int] = {}
    for note, place, midi in zip(notes, places, ticks.midis, strict=True):
        if note.hand is Hand.LEFT:
            lows[place] = min(midi, lows.get(place, midi))
            continue
        tops[place] = max(midi, tops.get(place, midi))
        if note.role in _PLAIN or note.role is Role.DOUBLING:
            chords[place] = max(midi, chords.get(place, midi))
    tops.update(chords)
    return [
        midi == lows[place] if note.hand is Hand.LEFT else midi >= tops[place]
        for note, place, midi in zip(notes, places, ticks.midis, strict=True)
    ]
