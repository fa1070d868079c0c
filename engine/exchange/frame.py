"""What holds in each measure beside its notes: key, meter, tempo, section, symbols, numerals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engine.exchange.lines import section_letter
from engine.exchange.score import Measure, Numeral, Symbol
from engine.harmony import Reading
from engine.song import Bar, Song


def frame_measures(
    song: Song,
    bars: Sequence[Bar],
    reading: Reading | None,
    *,
    symbols: bool,
    numerals: bool,
) -> list[Measure]:
    """Measures with everything but the notes."""
    out: list[Measure] = []
    before: Bar | None = None
    for bar in bars:
        begins = before is None or before.section != bar.section
        out.append(
            Measure(
                number=bar.number,
                key=bar.key,
                meter=bar.meter,
                staves=(),
                shows_key=before is None or before.key.signature != bar.key.signature,
                shows_meter=before is None or before.meter != bar.meter,
                tempo=bar.tempo if _new_tempo(before, bar) else None,
                letter=section_letter(bar.section) if begins else "",
                section=song.sections[bar.section].name if begins else "",
                symbols=tuple(Symbol(slot.onset, slot.chord, slot.typed) for slot in bar.slots)
                if symbols
                else (),
                numerals=_numerals(bar, before, reading) if numerals and reading else (),
            )
        )
        before = bar
    return out


def _new_tempo(before: Bar | None, bar: Bar) -> bool:
    return before is None or (before.tempo, before.meter.beat) != (bar.tempo, bar.meter.beat)


def _numerals(bar: Bar, before: Bar | None, reading: Reading) -> tuple[Numeral, ...]:
    out: list[Numeral] = []
    for n, slot in enumerate(bar.slots):
        found = reading.at(bar.number, n)
        if found is not None:
            out.append(Numeral(slot.onset, found.roman_pretty))
    if out:
        key = _key_at(reading, bar.number)
        earlier = _key_at(reading, before.number) if before is not None else None
        if key is not None and key != earlier:
            out[0] = replace(out[0], tonic=key)
    return tuple(out)


def _key_at(reading: Reading, bar: int) -> str | None:
    for region in reading.regions:
        if region.first <= bar <= region.last:
            tonic = region.key.tonic.symbol
            return tonic.lower() if region.key.is_minor else tonic
    return None
