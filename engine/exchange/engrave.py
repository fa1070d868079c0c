"""Engraving: a laid-out score to systems of music as SVG, and these to pages.

Every system is engraved on a page of its own and cropped, so that the
typesetter can stack systems, headings and tables and nothing can overlap.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from engine.errors import FileError
from engine.exchange.musicxml import Use, score_xml
from engine.exchange.rhythm import note_value
from engine.exchange.score import Measure, Score
from engine.exchange.typeset import A4, PPI, Form, Paper, typeset

#: Tenths of a millimetre to the engraver's units at full size: a staff of 7.2 mm.
_OPTIONS: dict[str, Any] = {
    "adjustPageHeight": True,
    "breaks": "encoded",
    "footer": "none",
    "header": "none",
    "minLastJustification": 0.0,
    "pageMarginBottom": 10,
    "pageMarginLeft": 30,
    "pageMarginRight": 0,
    "pageMarginTop": 10,
    "scale": 100,
    "smuflTextFont": "none",
    "svgViewBox": True,
    "svgRemoveXlink": True,
    "pageHeight": 6000,
    "mnumInterval": 0,
}
_FONTS = (('font-family="Leipzig"', 'font-family="Music Signs"'),
          ('font-family="Times, serif"', 'font-family="Libertinus Serif"'))  # fmt: skip


def engrave_systems(score: Score, width_mm: float, *, zoom: float = 1.0) -> list[str]:
    """Each system as an SVG text, `width_mm` wide; `zoom` 1 gives staves of 7.2 mm."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({**_OPTIONS, "pageWidth": round(width_mm * 10 / zoom)})
    if not toolkit.loadData(score_xml(score, Use.ENGRAVING).decode()):
        raise FileError("the score could not be engraved", "write it as MusicXML instead")
    return [_with_own_fonts(toolkit.renderToSVG(n + 1)) for n in range(toolkit.getPageCount())]


def _with_own_fonts(svg: str) -> str:
    for theirs, ours in _FONTS:
        svg = svg.replace(theirs, ours)
    return re.sub(r"<desc>.*?</desc>", "", svg, count=1)


def score_pages(
    score: Score,
    form: Form,
    *,
    paper: Paper = A4,
    zoom: float = 1.0,
    ppi: float = PPI,
) -> list[bytes]:
    """The whole score on paper: one PDF, or a PNG or SVG a page."""
    music = Pictures(paper)
    data = {**title_data(score), "systems": music.add(score, zoom=zoom)}
    return typeset("score", data, music.svgs, form, paper=paper, ppi=ppi)


def title_data(score: Score) -> dict[str, Any]:
    """What every sheet's heading needs."""
    return {
        "title": score.title,
        "subtitle": score.subtitle,
        "composer": score.composer,
        "rights": score.rights,
    }


class Pictures:
    """Collects the systems of the scores that a sheet shows, as SVG texts by file name."""

    def __init__(self, paper: Paper) -> None:
        self.paper = paper
        self.svgs: dict[str, str] = {}

    def add(self, score: Score, *, share: float = 1.0, zoom: float = 1.0) -> list[dict[str, Any]]:
        """Engrave a score, `share` of the text wide; what the templates need of each system."""
        systems = engrave_systems(score, self.paper.text_width * share, zoom=zoom)
        out: list[dict[str, Any]] = []
        for svg, measure in zip(systems, system_starts(score), strict=True):
            name = f"system-{len(self.svgs) + 1}.svg"
            self.svgs[name] = svg
            out.append({"file": name, "share": share, **heading(measure)})
        return out


def system_starts(score: Score) -> list[Measure]:
    """The first measure of every system."""
    measures = score.parts[0].measures
    return [measure for n, measure in enumerate(measures) if n == 0 or measure.new_line]


def heading(measure: Measure) -> dict[str, str]:
    """What stands over a system: section letter, section's name and tempo."""
    if not measure.letter:
        return {"letter": "", "name": "", "tempo": ""}
    return {
        "letter": measure.letter,
        "name": "" if measure.section == measure.letter else measure.section,
        "tempo": "" if measure.tempo is None else tempo_text(measure.meter.beat, measure.tempo),
    }


#: Metronome notes of SMuFL (`metNoteQuarterUp` …), by note value.
_METRONOME = {
    Fraction(1): "\uECA2", Fraction(1, 2): "\uECA3", Fraction(1, 4): "\uECA5",
    Fraction(1, 8): "\uECA7", Fraction(1, 16): "\uECA9",
}  # fmt: skip
_DOT = "."


def tempo_text(beat: Fraction, tempo: float) -> str:
    """`♩ = 72` in signs of the music font, for the meter's beat."""
    base, dots = note_value(beat)
    return f"{_METRONOME[base]}{_DOT * dots} = {tempo:g}"
