"""Lines that run through several chords: pedal points, line clichés, six-fours that link.

They leave the numerals alone; they tell why a chord stands where it does.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import groupby, pairwise

from engine.harmony.value import ChordReading
from engine.harmony.words import Category, Function
from engine.pitch import Note

_LEAST = 3  # chords, to make a line


def mark_spans(readings: Sequence[ChordReading]) -> tuple[ChordReading, ...]:
    """The readings, with linking six-fours, pedal points and line clichés marked."""
    found = list(readings)
    for n in range(1, len(found) - 1):
        found[n] = _six_four(found[n - 1], found[n], found[n + 1])
        if _slides(found[n - 1], found[n], found[n + 1]):
            found[n] = _linking(found[n], Category.PASSING)
    for first, last in _runs(found, lambda reading: reading.chord.bass_note.pc):
        _mark_pedal(found, first, last)
    for first, last in _runs(found, lambda reading: reading.chord.root.pc):
        _mark_line(found, first, last)
    _mark_bass_lines(found)
    return tuple(found)


def _runs(
    readings: Sequence[ChordReading], what: Callable[[ChordReading], int]
) -> list[tuple[int, int]]:
    """First and last index of each run of equal values that is long enough."""
    runs: list[tuple[int, int]] = []
    first = 0
    for _, run in groupby(map(what, readings)):
        after = first + len(list(run))
        if after - first >= _LEAST:
            runs.append((first, after - 1))
        first = after
    return runs


def _six_four(before: ChordReading, reading: ChordReading, after: ChordReading) -> ChordReading:
    chord = reading.chord
    if (
        reading.category not in (Category.DIATONIC, Category.BORROWED)
        or chord.bass is None
        or chord.fifth != chord.bass
        or chord.alter(7) is not None
    ):
        return reading
    into = _step(before, reading)
    out = _step(reading, after)
    if before.resolves and before.target is not None and before.target.pc == chord.bass.pc:
        return reading  # it is arrived at
    if into == 0 and out == 0:
        return _linking(reading, Category.PEDAL)
    if into * out > 0 and abs(into) <= 2 and abs(out) <= 2:
        return _linking(reading, Category.PASSING)
    return reading


_OUTSIDE = (Category.CHROMATIC, Category.MEDIANT, Category.BORROWED)


def _slides(before: ChordReading, reading: ChordReading, after: ChordReading) -> bool:
    """Whether a chord from outside the key slides by semitones, keeping a neighbour's shape."""
    if reading.category not in _OUTSIDE:
        return False
    into, out = _step(before, reading), _step(reading, after)
    shape = (reading.chord.members, reading.chord.bass is None)
    alike = ((one.chord.members, one.chord.bass is None) == shape for one in (before, after))
    return abs(into) == 1 and into == out and any(alike)


def _linking(reading: ChordReading, category: Category) -> ChordReading:
    """A chord that only links its neighbours, and wants nothing itself."""
    return replace(
        reading, category=category, function=Function.PASSING, resolves_to="", resolves=None
    )


def _step(one: ChordReading, two: ChordReading) -> int:
    """Semitones from bass to bass, the shorter way."""
    return (two.chord.bass_note.pc - one.chord.bass_note.pc + 6) % 12 - 6


def _mark_pedal(found: list[ChordReading], first: int, last: int) -> None:
    """A bass that stays under changing roots, foreign to one of them."""
    part = found[first : last + 1]
    roots = {reading.chord.root.pc for reading in part}
    if len(roots) < 2 or not any(reading.chord.bass_is_foreign for reading in part):
        return
    text = f"a pedal point on {part[0].notes[0].symbol} holds {len(part)} chords together"
    for n in range(first, last + 1):
        reading = found[n]
        held = reading.chord.bass_is_foreign and reading.category is Category.DIATONIC
        category = Category.PEDAL if held else reading.category
        found[n] = replace(reading, span=text, category=category)


def _mark_line(found: list[ChordReading], first: int, last: int) -> None:
    """One voice that moves by semitones while the harmony stays."""
    start = first
    while start + _LEAST - 1 <= last:
        line = max(
            (_line_from(found, start, last, note, way) for note in found[start].notes
             for way in (1, -1)),
            key=len,
        )  # fmt: skip
        if len(line) < _LEAST:
            start += 1
            continue
        named = " ".join(note.symbol for note in line)
        text = f"one voice moves by semitones, {named}, while the harmony stays"
        for n in range(start, start + len(line)):
            found[n] = replace(found[n], span=text)
        start += len(line)


def _line_from(
    found: Sequence[ChordReading], start: int, last: int, note: Note, way: int
) -> list[Note]:
    line = [note]
    for n in range(start + 1, last + 1):
        wanted = (line[-1].pc + way) % 12
        old = {one.pc for one in found[n - 1].notes}
        new = next((one for one in found[n].notes if one.pc == wanted), None)
        if new is None or wanted in old:
            break
        line.append(new)
    return line


def _mark_bass_lines(found: list[ChordReading]) -> None:
    """A bass that goes on by semitones one way under changing chords."""
    first = 0
    for way, steps in groupby(_step(one, two) for one, two in pairwise(found)):
        last = first + sum(1 for _ in steps)
        part = found[first : last + 1]
        if abs(way) == 1 and len(part) > _LEAST and not any(reading.span for reading in part):
            named = " ".join(reading.notes[0].symbol for reading in part)
            text = f"the bass {'falls' if way < 0 else 'rises'} by semitones, {named}"
            found[first : last + 1] = [replace(reading, span=text) for reading in part]
        first = last
