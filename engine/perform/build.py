"""From the written part to what is played: one pass over notes, pedal and tempo."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from fractions import Fraction

from engine.part import Part, PartNote
from engine.perform.loudness import melody_velocities, velocities
from engine.perform.moves import micro_timing, pedal_moves
from engine.perform.table import Roll, table
from engine.perform.tempo import TempoMap, tempo_points
from engine.perform.ticks import Ticks
from engine.perform.value import PedalMove, Performance, Played, TempoPoint
from engine.song import Hand, Song
from engine.song.melody import MelodyNote, melody_notes

BOTH_HANDS = (Hand.LEFT, Hand.RIGHT)


def perform(
    part: Part,
    song: Song,
    *,
    hands: Collection[Hand] = BOTH_HANDS,
    melody: bool = True,
    timing: bool = True,
    seed: int = 0,
    bars: tuple[int, int] | None = None,
    tempo_scale: float = 1.0,
    ritard: bool | None = None,
) -> Performance:
    """How the part is played: velocities, pedal and tempo, the same for the same arguments.

    `hands` that sound, and whether the song's `melody` does; `timing` adds
    micro-timing below what is noticed, drawn from `seed` (without it every
    `late_ms` of a note is 0: files that are read as notes want that, ears want
    the other); `bars` performs from one bar to
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
    ticks = Ticks(part, song)
    late = micro_timing(ticks, tempo, values.timing, seed) if timing else [0.0] * len(part.notes)
    loud = velocities(part, song, values, ticks)
    notes = _played(part.notes, ticks, loud, late, hands, (ticks.of(start), ticks.of(end)))
    notes = _rolled(notes, part.notes, hands, start, values.roll)
    sung = melody_notes(song) if melody else ()
    sung_loud = melody_velocities(sung, part, song, values, ticks)
    pedal = pedal_moves(part.pedal, ticks, song.end, tempo, values.pedal)
    return Performance(
        notes=notes,
        pedal=_pedal_between(pedal, start, end),
        tempo=tuple(replace(point, onset=point.onset - start) for point in points),
        end=end - start,
        start=start,
        melody=_sung(sung, sung_loud, start, end),
    )


def _sung(
    notes: Sequence[MelodyNote], loud: Sequence[int], start: Fraction, end: Fraction
) -> tuple[Played, ...]:
    """The melody between two places, the first at time 0; exactly in time, as a guide should be."""
    return tuple(
        Played(
            max(note.onset, start) - start,
            min(note.end, end) - start,
            note.pitch.midi,
            velocity,
            None,
        )
        for note, velocity in zip(notes, loud, strict=True)
        if note.end > start and note.onset < end
    )


def _played(
    notes: Sequence[PartNote],
    ticks: Ticks,
    loud: Sequence[int],
    late: Sequence[float],
    hands: Collection[Hand],
    between: tuple[int, int],
) -> tuple[Played, ...]:
    """The notes that sound between two ticks, moved so that the first is time 0.

    A note held over the start is struck there. A key is let go before it is
    struck again; where both hands strike one key, it is struck once.
    """
    start, end = between
    found: list[Played] = []
    sounding: dict[int, tuple[int, int, int]] = {}  # its place in `found`, onset and end
    for index, note in enumerate(notes):
        onset, stop = max(ticks.onsets[index], start), min(ticks.ends[index], end)
        if stop <= onset or note.hand not in hands:
            continue
        midi = ticks.midis[index]
        place = len(found)
        if midi in sounding:
            last, struck, held = sounding[midi]
            if struck == onset:
                other = found[last]
                found[last] = replace(
                    other,
                    end=ticks.time(max(held, stop) - start),
                    velocity=max(other.velocity, loud[index]),
                    late_ms=min(other.late_ms, late[index]),
                )
                sounding[midi] = (last, struck, max(held, stop))
                continue
            if held > onset:
                found[last] = replace(found[last], end=ticks.time(onset - start))
        sounding[midi] = (place, onset, stop)
        found.append(
            Played(
                ticks.time(onset - start),
                ticks.time(stop - start),
                midi,
                loud[index],
                note.hand,
                late[index],
            )
        )
    return tuple(found)


def _rolled(
    played: tuple[Played, ...],
    written: Sequence[PartNote],
    hands: Collection[Hand],
    start: Fraction,
    roll: Roll,
) -> tuple[Played, ...]:
    """The notes with rolled chords played from the lowest up, both hands as one."""
    marked = {
        (note.onset - start, note.pitch.midi)
        for note in written
        if note.rolled and note.hand in hands and note.onset >= start
    }
    if not marked:
        return played
    chords: dict[Fraction, list[int]] = {}
    for index, note in enumerate(played):
        if (note.onset, note.midi) in marked:
            chords.setdefault(note.onset, []).append(index)
    found = list(played)
    for indices in chords.values():
        indices.sort(key=lambda index: played[index].midi)
        length = min(played[index].end - played[index].onset for index in indices)
        step = min(Fraction(1, roll.step), length / roll.within / len(indices))
        for place, index in enumerate(indices):
            note = played[index]
            found[index] = replace(note, onset=note.onset + place * step)
    return tuple(sorted(found, key=lambda note: note.onset))


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
