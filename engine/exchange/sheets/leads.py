"""The lead sheet: melody, or slashes, and chord symbols on one staff."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from engine.exchange.accidentals import with_accidentals
from engine.exchange.engrave import Pictures, title_data
from engine.exchange.frame import frame_measures
from engine.exchange.layout import melody_part, score_of
from engine.exchange.paging import heading_mm
from engine.exchange.rhythm import Written
from engine.exchange.score import Entry, Head, Score, ScorePart, Staff, Voice
from engine.exchange.typeset import A4, PPI, Form, Paper, typeset
from engine.harmony import Reading
from engine.meter import Meter
from engine.pitch import Pitch
from engine.song import Song
from engine.song.melody import MelodyNote, melody_notes

_MIDDLE_LINE = Pitch.parse("B4")


def lead_sheet_pages(
    song: Song, reading: Reading, form: Form = "pdf", *, paper: Paper = A4, ppi: float = PPI
) -> list[bytes]:
    """Melody and symbols, four bars a line; slashes where there is no melody."""
    score = lead_score(song, reading, melody_notes(song))
    music = Pictures(paper, form, ppi)
    data = {**title_data(score), "systems": music.add(score, first=heading_mm(song.composer))}
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
    return score_of(song, (lead,))


def _slashes(meter: Meter) -> Staff:
    head = Head(_MIDDLE_LINE, slash=True)
    beats = tuple(
        Entry(Written(n * meter.beat, meter.beat, meter.beat, n), (head,))
        for n in range(meter.beats)
    )
    return Staff((Voice(1, beats),))
