"""Whether the bars of a melody's note text are as long as those of the chart over them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction

from engine.errors import Place, SongError
from engine.meter import Meter
from engine.song.abc import default_unit, read_abc
from engine.song.abc_value import AbcMusic
from engine.song.value import Bar, Song


def melody_faults(song: Song) -> tuple[tuple[int, SongError], ...]:
    """The first fault of each section's melody, with the section's index from 0."""
    bars: dict[int, list[Bar]] = {}
    for bar in song.bars:
        bars.setdefault(bar.section, []).append(bar)
    found = []
    for index, section in enumerate(song.sections):
        fault = melody_fault(section.melody, bars[index]) if section.melody else None
        if fault is not None:
            found.append((index, fault))
    return tuple(found)


def melody_fault(text: str, bars: Sequence[Bar]) -> SongError | None:
    """The first bar of a section's melody that doesn't fill its bar, its place in the text.

    Else the first syllable that has no note. A text without bar lines goes on by itself; a short
    first bar is a pickup, a short last one ends early. `bars` are the section's. Raises
    SongError where the text cannot be read.
    """
    music = read_abc(text, bars[0].key, bars[0].meter)
    return _uneven(music, text, bars) or (unsung(music.unsung[0]) if music.unsung else None)


def unsung(place: Place) -> SongError:
    """A syllable of the words for which there is no note."""
    syllable = place.text[place.column - 1 : place.column - 1 + place.length]
    return SongError(
        f"there are more syllables than notes: “{syllable}” has none",
        "leave it out, join words with ~, or add a note",
        place,
    )


def _uneven(music: AbcMusic, text: str, bars: Sequence[Bar]) -> SongError | None:
    if not any(line.onset for line in music.bars):
        return None
    begin, unit = bars[0].start, default_unit(bars[0].meter)
    edges = [bar.start - begin for bar in bars]
    measures = list(_measures(music, text))
    for number, (start, end, place) in enumerate(measures, start=1):
        if start not in edges:
            return _beyond(len(bars), place)
        meter = bars[edges.index(start)].meter
        last = number == len(measures)
        if end - start == meter.bar or (last and end - start < meter.bar):
            continue
        if not _sings(music, start, end) and (end in edges or end == bars[-1].end - begin):
            continue  # rests of several bars
        return _unfilled(number, end - start, meter, unit, place)
    return None


def _measures(music: AbcMusic, text: str) -> Iterator[tuple[Fraction, Fraction, Place]]:
    """Start, end and place of what stands between bar lines; rests after the last don't count."""
    start = Fraction(0)
    line, column = 1, 1  # where it begins in the text
    for bar in music.bars:
        if bar.onset > start:
            begins = column if bar.place.line == line else 1
            yield start, bar.onset, _place(bar.place.text, bar.place.line, begins, bar.place.column)
            start = bar.onset
        line, column = bar.place.line, bar.place.column + len(bar.text)
    if _sings(music, start, music.end):
        rows = text.splitlines()
        if not rows[line - 1][column - 1 :].strip():
            notes = (n for n in range(line, len(rows)) if not re.match(r"w:|\+:", rows[n]))
            line, column = next(notes, line - 1) + 1, 1
        row = rows[line - 1]
        yield start, music.end, _place(row, line, column, len(row) + 1)


def _place(row: str, line: int, column: int, end: int) -> Place:
    """The text of a line from a column to another, without blanks around it."""
    inner = row[column - 1 : end - 1]
    begins = column + len(inner) - len(inner.lstrip())
    return Place(begins, max(1, len(inner.strip())), line, row)


def _sings(music: AbcMusic, start: Fraction, end: Fraction) -> bool:
    return any(note.pitches and start <= note.onset < end for note in music.notes)


def _beyond(count: int, place: Place) -> SongError:
    return SongError(
        f"the melody goes on after the section’s last bar ({count})",
        "leave out its last bars, or add bars to the chart",
        place,
    )


def _unfilled(
    number: int, length: Fraction, meter: Meter, unit: Fraction, place: Place
) -> SongError:
    """`bar 3 of the melody holds 3 beats of 4`, and the rest that is missing."""
    missing = meter.bar - length
    if missing > 0:
        times = missing / unit
        rest = "z" if times == 1 else f"z{times}"
        cure = f"lengthen a note, or add the rest {rest}"
    else:
        cure = f"shorten it by {_beats(-missing / meter.beat)}, or put a bar line where one is due"
    return SongError(
        f"bar {number} of the melody lasts {_beats(length / meter.beat)}, "
        f"and a bar of {meter} has {_beats(meter.bar / meter.beat)}",
        cure,
        place,
    )


def _beats(count: Fraction) -> str:
    whole, part = divmod(count, 1)
    text = f"{whole} {part}" if whole and part else str(count)
    return f"{text} beat{'' if count <= 1 else 's'}"
