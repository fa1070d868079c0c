"""From the written part to what is played: one pass over notes, pedal and tempo."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from fractions import Fraction

from engine.part import Part, PartNote
from engine.perform.loudness import velocities
from engine.perform.moves import micro_timing, pedal_moves
from engine.perform.table import table
from engine.perform.tempo import TempoMap, tempo_points
from engine.perform.value import PedalMove, Performance, Played, TempoPoint
from engine.song import Hand, Song

BOTH_HANDS = (Hand.LEFT, Hand.RIGHT)


def perform(
    part: Part,
    song: Song,
    *,
    hands: Collection[Hand] = BOTH_HANDS,
    timing: bool = True,
    seed: int = 0,
    bars: tuple[int, int] | None = None,
    tempo_scale: float = 1.0,
    ritard: bool | None = None,
) -> Performance:
    """How the part is played: velocities, pedal and tempo, the same for the same arguments.

    `hands` that sound; `timing` adds micro-timing below what is noticed, drawn
    from `seed` (without it every `late_ms` of a note is 0: files that are read
    as notes want that, ears want the other); `bars` performs from one bar to
    another, both counted from 1 and meant inclusively; `tempo_scale` multiplies
    the tempo; the final ritard is left out where only some bars are performed,
    unless `ritard` says otherwise.
    """
    values = table()
    low, high = bars if bars is not None else (1, len(song.bars))
    chosen = song.bars[max(0, low - 1) : high]
    start = chosen[0].start if chosen else Fraction(0)
    end = chosen[-1].end if chosen else Fraction(0)
    slowing = ritard if ritard is not None else bars is None
    points = tempo_points(chosen, tempo_scale, values.ritard if slowing else None)
    if not points:
        points = (TempoPoint(Fraction(0), song.tempo * tempo_scale),)
    tempo = TempoMap(points)
    late = (
        micro_timing(part.notes, tempo, values.timing, seed) if timing else [0.0] * len(part.notes)
    )
    loud = velocities(part, song, values)
    notes = _played(part.notes, loud, late, hands, start, end)
    pedal = pedal_moves(part.pedal, part.notes, song.end, tempo, values.pedal)
    return Performance(
        notes=notes,
        pedal=_pedal_between(pedal, start, end),
        tempo=tuple(replace(point, onset=point.onset - start) for point in points),
        end=end - start,
        start=start,
    )


def _played(
    notes: Sequence[PartNote],
    loud: Sequence[int],
    late: Sequence[float],
    hands: Collection[Hand],
    start: Fraction,
    end: Fraction,
) -> tuple[Played, ...]:
    """The notes that sound between two places, moved so that the first place is 0.

    A note held over the start is struck there. A key is let go before it is
    struck again; where both hands strike one key, it is struck once.
    """
    found: list[Played] = []
    sounding: dict[int, int] = {}
    for note, velocity, delay in zip(notes, loud, late, strict=True):
        if note.hand not in hands or note.end <= start or note.onset >= end:
            continue
        onset = max(note.onset, start) - start
        midi = note.pitch.midi
        played = Played(onset, min(note.end, end) - start, midi, velocity, note.hand, delay)
        last = sounding.get(midi)
        if last is not None and found[last].onset == onset:
            other = found[last]
            found[last] = replace(
                other,
                end=max(other.end, played.end),
                velocity=max(other.velocity, velocity),
                late_ms=min(other.late_ms, delay),
            )
            continue
        if last is not None and found[last].end > onset:
            found[last] = replace(found[last], end=onset)
        sounding[midi] = len(found)
        found.append(played)
    return tuple(found)


def _pedal_between(
    moves: Sequence[PedalMove], start: Fraction, end: Fraction
) -> tuple[PedalMove, ...]:
    """The pedal's moves between two places, the first place at 0; it ends up."""
    before = [move for move in moves if move.onset < start]
    inside = [move for move in moves if start <= move.onset <= end]
    found = [replace(move, onset=move.onset - start) for move in inside]
    held = bool(before) and before[-1].value > 0
    if held and not any(move.onset == 0 for move in found):
        found.insert(0, PedalMove(Fraction(0), 127))
    while found and found[-1].value > 0 and found[-1].onset == end - start:
        found.pop()
    if found and found[-1].value > 0:
        found.append(PedalMove(end - start, 0))
    return tuple(found)
