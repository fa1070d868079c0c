"""Small times: legato pedalling after the attack, and seeded micro-timing nobody notices."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from engine.part import PartNote, PedalMark
from engine.perform.table import Pedalling, Timing
from engine.perform.tempo import TempoMap
from engine.perform.value import PedalMove


def pedal_moves(
    marks: Sequence[PedalMark],
    notes: Sequence[PartNote],
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
    caught: dict[Fraction, Fraction] = {}
    for note in notes:
        if note.onset in places:
            caught[note.onset] = min(note.end, caught.get(note.onset, note.end))
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


def micro_timing(
    notes: Sequence[PartNote], tempo: TempoMap, table: Timing, seed: int
) -> list[float]:
    """How late each note is, in ms: never as much as is just noticeable.

    `notes` are sorted by onset. Notes struck together share a displacement,
    the highest of them first. A note's displacement depends on the seed, its
    place and pitch alone, so that an edit elsewhere leaves it as it was.
    """
    found = [0.0] * len(notes)
    start = 0
    before: float | None = None
    while start < len(notes):
        onset = notes[start].onset
        end = start
        while end < len(notes) and notes[end].onset == onset:
            end += 1
        now = tempo.seconds(onset)
        apart = [now - before] if before is not None else []
        if end < len(notes):
            apart.append(tempo.seconds(notes[end].onset) - now)
        room = table.used * table.noticeable_ms(1000 * min(apart, default=1.0))
        shared = _chance(seed, onset.numerator, onset.denominator) * room / 2
        top = max(note.pitch.midi for note in notes[start:end])
        for index in range(start, end):
            midi = notes[index].pitch.midi
            own = _chance(seed, onset.numerator, onset.denominator, midi) if midi != top else 0.0
            found[index] = round(shared + own * room / 2, 3)
        before = now
        start = end
    return found


def _chance(seed: int, *numbers: int) -> float:
    """A number from 0 to 1 that looks random and follows from its arguments (splitmix64)."""
    state = seed & 0xFFFFFFFFFFFFFFFF
    for number in (*numbers, len(numbers)):
        state = (state + 0x9E3779B97F4A7C15 * (2 * number + 1)) & 0xFFFFFFFFFFFFFFFF
        state = ((state ^ (state >> 30)) * 0xBF58476D1CE4E5B9) & 0xFFFFFFFFFFFFFFFF
        state = ((state ^ (state >> 27)) * 0x94D049BB133111EB) & 0xFFFFFFFFFFFFFFFF
        state ^= state >> 31
    return state / 2**64
