"""Engraving: a laid-out score to systems of music as SVG, and these to pages.

Every system is engraved on a page of its own and cropped, so that the
typesetter can stack systems, headings and tables and nothing can overlap.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Any, Literal

from engine.errors import FileError
from engine.exchange.musicxml import Use, score_xml
from engine.exchange.rhythm import note_value
from engine.exchange.score import Measure, Score
from engine.exchange.typeset import A4, Paper, quoted, typeset

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
    form: Literal["pdf", "png", "svg"],
    *,
    paper: Paper = A4,
    zoom: float = 1.0,
    ppi: float = 144,
) -> list[bytes]:
    """The whole score on paper: one PDF, or a PNG or SVG a page."""
    systems = engrave_systems(score, paper.text_width, zoom=zoom)
    pictures = {f"system-{n}.svg": svg for n, svg in enumerate(systems, start=1)}
    return typeset(score_source(score, list(pictures), paper), pictures, form, ppi=ppi)


def score_source(score: Score, names: Sequence[str], paper: Paper) -> str:
    """The typst source that stacks systems under the score's title."""
    head = (
        f"#show: sheet.with(title: {quoted(score.title)}, subtitle: {quoted(score.subtitle)}, "
        f"composer: {quoted(score.composer)}, rights: {quoted(score.rights)}, "
        f"paper: {quoted(paper.name)}, margin: {paper.margin}mm)"
    )
    body = [
        f"#system({quoted(name)}{heading(measure)})"
        for name, measure in zip(names, system_starts(score), strict=True)
    ]
    return "\n".join(['#import "sheet.typ": *', head, *body])


def system_starts(score: Score) -> list[Measure]:
    """The first measure of every system."""
    return [
        measure for n, measure in enumerate(score.parts[0].measures) if n == 0 or measure.new_line
    ]


def heading(measure: Measure) -> str:
    """The typst arguments for what stands over a system: letter, section's name and tempo."""
    if not measure.letter:
        return ""
    tempo = "" if measure.tempo is None else tempo_text(measure.meter.beat, measure.tempo)
    name = "" if measure.section == measure.letter else measure.section
    return f", letter: {quoted(measure.letter)}, name: {quoted(name)}, tempo: {quoted(tempo)}"


#: Metronome notes and the dot of SMuFL (`metNoteQuarterUp` …), by note value.
_METRONOME = {
    Fraction(1): "\uECA2", Fraction(1, 2): "\uECA3", Fraction(1, 4): "\uECA5",
    Fraction(1, 8): "\uECA7", Fraction(1, 16): "\uECA9",
}  # fmt: skip
_DOT = "\uecb7"


def tempo_text(beat: Fraction, tempo: float) -> str:
    """`♩ = 72` in signs of the music font, for the meter's beat."""
    base, dots = note_value(beat)
    return f"{_METRONOME[base]}{_DOT * dots} = {tempo:g}"
