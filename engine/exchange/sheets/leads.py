"""The lead sheet and the chord chart: a song without its written-out part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from engine.exchange.accidentals import with_accidentals
from engine.exchange.engrave import Pictures, tempo_text, title_data
from engine.exchange.layout import frame_measures, melody_part
from engine.exchange.lines import BARS_A_LINE, line_starts, section_letter
from engine.exchange.rhythm import Written
from engine.exchange.score import Entry, Head, Score, ScorePart, Staff, Voice
from engine.exchange.typeset import A4, PPI, Form, Paper, typeset
from engine.harmony import Reading
from engine.meter import Meter
from engine.pitch import Pitch
from engine.song import Bar, Section, Slot, Song
from engine.song.melody import MelodyNote, melody_notes

_MIDDLE_LINE = Pitch.parse("B4")
_EM_MM = 0.2  # width of a bold letter in millimetres, for each point of its size


def lead_sheet_pages(
    song: Song, reading: Reading, form: Form = "pdf", *, paper: Paper = A4, ppi: float = PPI
) -> list[bytes]:
    """Melody and symbols, four bars a line; slashes where there is no melody."""
    score = lead_score(song, reading, melody_notes(song))
    music = Pictures(paper)
    data = {**title_data(score), "systems": music.add(score)}
    return typeset("score", data, music.svgs, form, paper=paper, ppi=ppi)


def lead_score(song: Song, reading: Reading, melody: Sequence[MelodyNote]) -> Score:
    """The lead sheet as a score of one staff: this melody, slashes in sections without one."""
    frame = frame_measures(song, song.bars, reading, symbols=True, numerals=False)
    part = melody_part(melody, song.bars, frame)
    silent = {index for index, section in enumerate(song.sections) if not section.melody}
    measures = tuple(
        replace(measure, staves=(_slashes(bar.meter),)) if bar.section in silent else measure
        for bar, measure in zip(song.bars, part.measures, strict=True)
    )
    lead = ScorePart("Lead", "", part.clefs, with_accidentals(measures))
    return Score(song.title, song.composer, song.rights, (lead,))


def _slashes(meter: Meter) -> Staff:
    head = Head(_MIDDLE_LINE, slash=True)
    beats = tuple(
        Entry(Written(n * meter.beat, meter.beat, meter.beat, n), (head,))
        for n in range(meter.beats)
    )
    return Staff((Voice(1, beats),))


def chord_chart_pages(
    song: Song,
    reading: Reading,
    form: Form = "pdf",
    *,
    numerals: bool = True,
    paper: Paper = A4,
    ppi: float = PPI,
) -> list[bytes]:
    """The chords by bar and beat, four bars a line, with numerals under them."""
    data: dict[str, Any] = {
        **title_data(Score(song.title, song.composer, song.rights, ())),
        "facts": [song.key.symbol, song.meter.name],
        "numerals": numerals,
        "a_line": BARS_A_LINE,
        "sections": [
            _section(song, reading, index, section, paper.text_width / BARS_A_LINE)
            for index, section in enumerate(song.sections)
        ],
    }
    return typeset("chart", data, {}, form, paper=paper, ppi=ppi)


def _section(
    song: Song, reading: Reading, index: int, section: Section, bar_mm: float
) -> dict[str, Any]:
    bars = [bar for bar in song.bars if bar.section == index]
    starts = line_starts(bars)
    lines: list[list[dict[str, Any]]] = []
    for bar in bars:
        if bar.number in starts or not lines:
            lines.append([])
        lines[-1].append(_bar(song, reading, bar, bar_mm))
    first = bars[0] if bars else None
    before = song.bars[first.number - 2] if first is not None and first.number > 1 else None
    new_tempo = first is not None and (before is None or before.tempo != first.tempo)
    return {
        "letter": section_letter(index),
        "name": section.name if section.name != section_letter(index) else "",
        "tempo": tempo_text(first.meter.beat, first.tempo) if first and new_tempo else "",
        "lines": lines,
    }


def _bar(song: Song, reading: Reading, bar: Bar, width_mm: float) -> dict[str, Any]:
    chords: list[dict[str, Any]] = []
    ends = [slot.onset for slot in bar.slots[1:]] + [bar.meter.bar]
    for n, (slot, end) in enumerate(zip(bar.slots, ends, strict=True)):
        room = width_mm * float((end - slot.onset) / bar.meter.bar) - 1.5
        text = _shown(slot)
        chords.append(
            {
                "at": float(slot.onset / bar.meter.bar),
                "text": text,
                "size": max(6.0, min(14.0, room / (_EM_MM * max(1, len(text))))),
                "numeral": _numeral(reading, bar, n),
            }
        )
    return {
        "chords": chords,
        "beats": [float(n * bar.meter.beat / bar.meter.bar) for n in range(bar.meter.beats)],
        "mark": _mark(song, bar),
        "last": bar is song.bars[-1],
    }


def _shown(slot: Slot) -> str:
    return slot.chord.pretty if slot.chord is not None else slot.typed


def _numeral(reading: Reading, bar: Bar, slot: int) -> str:
    found = reading.at(bar.number, slot)
    return found.roman_pretty if found is not None else ""


def _mark(song: Song, bar: Bar) -> str:
    """A meter or key that is new in this bar."""
    if bar.number == 1:
        return ""
    before = song.bars[bar.number - 2]
    new = [
        bar.meter.name if bar.meter != before.meter else "",
        bar.key.symbol if bar.key != before.key else "",
    ]
    return " ".join(text for text in new if text)
