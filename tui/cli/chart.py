"""A song's chart in print: four bars a line, every chord at its beat, numerals below."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from engine.harmony import Reading
from engine.song import Bar, Song

_BARS_A_LINE = 4


def chart_lines(song: Song, reading: Reading) -> Iterator[str]:
    """The chart line by line, headed by title, key, meter and tempo."""
    yield f"{song.title or 'Untitled'} · {song.key.symbol} · {song.meter} · {song.tempo:g}"
    for index, group in groupby(song.bars, key=lambda bar: bar.section):
        bars = list(group)
        yield ""
        yield f"{song.sections[index].name or f'Section {index + 1}'}"
        cells = [_cell(bar, reading) for bar in bars]
        widths = [
            max(len(cell[0]) for cell in cells[k::_BARS_A_LINE]) for k in range(_BARS_A_LINE)
            if cells[k::_BARS_A_LINE]
        ]  # fmt: skip
        for start in range(0, len(bars), _BARS_A_LINE):
            line = list(zip(cells[start : start + _BARS_A_LINE], widths, strict=False))
            yield f"{bars[start].number:>4} | " + " | ".join(c[0].ljust(w) for c, w in line) + " |"
            yield "       " + "   ".join(c[1].ljust(w) for c, w in line).rstrip()


def _cell(bar: Bar, reading: Reading) -> tuple[str, str]:
    """A bar's chords and, under each, its numeral; dots hold a beat more."""
    upper, lower = "", ""
    equal = len({slot.duration for slot in bar.slots}) == 1
    for index, slot in enumerate(bar.slots):
        chord = slot.chord.pretty if slot.chord else slot.typed if slot.typed != "%" else "N.C."
        read = reading.at(bar.number, index)
        numeral = read.roman_pretty if read else ""
        beats = slot.duration / bar.meter.beat
        if not equal and beats.denominator == 1:
            chord += " ." * (int(beats) - 1)
        width = max(len(chord), len(numeral)) + 1
        upper += chord.ljust(width)
        lower += numeral.ljust(width)
    width = max(len(upper.rstrip()), len(lower.rstrip()))
    return upper.rstrip().ljust(width), lower.rstrip().ljust(width)
