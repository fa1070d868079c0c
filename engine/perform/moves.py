"""Small times: legato pedalling after the attack, and seeded micro-timing nobody notices."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from engine.part import PedalMark
from engine.perform.table import Pedalling, Timing
from engine.perform.tempo import TempoMap
from engine.perform.ticks import Ticks
from engine.perform.value import PedalMove

_MASK = 0xFFFFFFFFFFFFFFFF


def pedal_moves(
    marks: Sequence[PedalMark],
    ticks: Ticks,
    end: Fraction,
    tempo: TempoMap,
    table: Pedalling,
) -> list[PedalMove]:
    """Legato pedalling: up just after the attack, down again before it fades.

    Both moves come closer to the attack where its notes are short or the next
    change (or the `end` of all) is near, so that the pedal always catches what
    was struck with it.
    """
    places: dict[Fraction, set[bool]] = {}
    for mark in sorted(marks, key=lambda mark: mark.onset):
        places.setdefault(mark.onset, set()).add(mark.down)
    changes = {ticks.of(at): at for at in places}
    caught: dict[Fraction, Fraction] = {}
    for onset, stop in zip(ticks.onsets, ticks.ends, strict=True):
        if onset in changes:
            at = changes[onset]
            caught[at] = min(ticks.time(stop), caught.get(at, ticks.time(stop)))
    order = list(places)
    moves = []
    for at, change in zip(order, [*order[1:], end], strict=False):
        limit = min(caught.get(at, change), change) if change > at else end
        scale = 1.0
        if limit > at:
            room_ms = 1000 * (tempo.seconds(limit) - tempo.seconds(at))
            scale = min(1.0, table.share * room_ms / table.press_ms)
        if False in places[at]:
            moves.append(PedalMove(at, 0, table.release_ms * scale))
        if True in places[at]:
            moves.append(PedalMove(at, 127, table.press_ms * scale))
    return moves


def micro_timing(ticks: Ticks, tempo: TempoMap, table: Timing, seed: int) -> list[float]:
    """How late each note is, in ms: never as much as is just noticeable.

    Notes struck together share a displacement, the highest of them first. A
    note's displacement depends on the seed, its place and pitch alone, so that
    an edit elsewhere leaves it as it was.
    """
    onsets, midis, grid = ticks.onsets, ticks.midis, ticks.grid
    count = len(onsets)
    found = [0.0] * count
    start = 0
    before: float | None = None
    now = tempo.seconds(onsets[0] / grid) if onsets else 0.0
    while start < count:
        onset = onsets[start]
        end = start
        while end < count and onsets[end] == onset:
            end += 1
        apart = 1.0 if before is None else now - before
        following = tempo.seconds(onsets[end] / grid) if end < count else now
        if end < count:
            apart = min(apart, following - now)
        half = table.used * table.noticeable_ms(1000 * apart) / 2
        place = onset * 2520 // grid  # the same whatever grid other bars need
        shared = _chance(seed, place, 0) * half
        top = max(midis[start:end])
        for index in range(start, end):
            own = _chance(seed, place, midis[index]) * half if midis[index] != top else 0.0
            found[index] = round(shared + own, 3)
        before, now, start = now, following, end
    return found


def _chance(seed: int, place: int, midi: int) -> float:
    """A number from 0 to 1 that looks random and follows from its arguments."""
    state = (
        seed * 0x9E3779B97F4A7C15 + place * 0xBF58476D1CE4E5B9 + midi * 0x94D049BB133111EB
    ) & _MASK
    state = ((state ^ (state >> 30)) * 0xBF58476D1CE4E5B9) & _MASK  # as splitmix64 mixes
    state = ((state ^ (state >> 27)) * 0x94D049BB133111EB) & _MASK
    return (state ^ (state >> 31)) / _MASK
