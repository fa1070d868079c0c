"""Engraving: a laid-out score to systems of music as SVG, and these to pages.

Every system is engraved on a page of its own and cropped, so that the
typesetter can stack systems, headings and tables and nothing can overlap.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from copy import copy
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import Any

from engine.errors import FileError
from engine.exchange.library import library
from engine.exchange.musicxml import Use, score_xml
from engine.exchange.paging import GAPS_MM, Place, heading_mm, pages_needed, placed
from engine.exchange.printed import clean
from engine.exchange.rhythm import note_value
from engine.exchange.score import Measure, Score, ScorePart
from engine.exchange.spacing import LEAST_ZOOM, ZOOMS
from engine.exchange.typeset import A4, PPI, Form, Paper, typeset
from engine.song import Song

#: Tenths of a millimetre to the engraver's units at full size: a staff of 7.2 mm.
_OPTIONS: dict[str, Any] = {
    "adjustPageHeight": True,
    "breaks": "encoded",
    "footer": "none",
    "header": "none",
    "lyricTopMinMargin": 4.0,
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
    "xmlIdChecksum": True,  # the same score, the same file
}
_FONTS = (('font-family="Leipzig"', 'font-family="Music Signs"'),
          ('font-family="Times, serif"', 'font-family="Libertinus Serif"'))  # fmt: skip


def engrave_systems(score: Score, width_mm: float) -> list[str]:
    """Each system as an SVG text, `width_mm` wide, without the staves that rest all through it."""
    systems = sounding_parts(score)
    scores = {parts: _loaded(replace(score, parts=parts), width_mm) for parts in set(systems)}
    return [
        _with_own_fonts(_one_picture(_whole(scores[parts].renderToSVG(page))))
        for page, parts in enumerate(systems, start=1)
    ]


def _loaded(score: Score, width_mm: float) -> Any:
    """The engraver with the score laid out in it, each system a page."""
    verovio = library("verovio")
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({**_OPTIONS, "pageWidth": round(width_mm * 10 / score.zoom)})
    if not toolkit.loadData(score_xml(score, Use.ENGRAVING).decode()):
        raise FileError("the score could not be engraved", "write it as MusicXML instead")
    return toolkit


def sounding_parts(score: Score) -> list[tuple[ScorePart, ...]]:
    """The parts to draw in each system: the last one, and those over it that have notes there."""
    *over, last = score.parts
    measures = last.measures
    starts = [n for n, measure in enumerate(measures) if n == 0 or measure.new_line]
    return [
        (*(part for part in over if any(map(_sounds, part.measures[start:end]))), last)
        for start, end in pairwise((*starts, len(measures)))
    ]


def _sounds(measure: Measure) -> bool:
    return any(
        not entry.is_rest
        for staff in measure.staves
        for voice in staff.voices
        for entry in voice.entries
    )


_FRAME = re.compile(r'viewBox="0 0 (\d+) (\d+)"')
_VIEW = re.compile(r'viewBox="\S+ \S+ (\S+) (\S+)"')
_TEXT = re.compile(r'<text(?: x="(-?\d+)")? y="(-?\d+)"([^>]*)>(.*?)</text>', re.DOTALL)
_RUN = re.compile(r'<tspan([^>]*)font-size="(\d+)px"[^>]*>([^<]+)</tspan>')
#: Of a text's size: below its line, over it, the width of a letter and of a sign of music.
_BELOW, _OVER, _LETTER, _SIGN = 0.3, 0.8, 0.52, 0.3
#: The line with a section's letter over a system.
_HEADING_MM = 7.5
_INCH_MM = 25.4
#: What is taken from whole pixels, lest the typesetter rounds up to one more.
_SLIGHT = 0.001
#: The engraver's inner units to a unit of the page.
_INNER = 10


def _whole(svg: str) -> str:
    """The picture made large enough for its words, which the engraver does not count in."""
    frame = _FRAME.search(svg)
    assert frame is not None
    width, height = (_INNER * int(side) for side in frame.groups())
    top, right, bottom = 0.0, float(width), float(height)
    for x, y, how, text in _TEXT.findall(svg):
        across = int(x or 0) + _INNER * _OPTIONS["pageMarginLeft"]
        down = int(y) + _INNER * _OPTIONS["pageMarginTop"]
        for font, size, letters in _RUN.findall(text):
            share = _SIGN if "font-family" in font else _LETTER
            across += len(letters.strip()) * share * int(size) * (0.5 if "middle" in how else 1)
            if "font-family" not in font:
                top = min(top, down - _OVER * int(size))
                bottom = max(bottom, down + _BELOW * int(size))
        right = max(right, across)
    sides = " ".join(f"{side / _INNER:g}" for side in (0, top, right, bottom - top))
    return svg.replace(frame[0], f'viewBox="{sides}"', 1)


def _one_picture(svg: str) -> str:
    """The picture in the picture as a group: nothing is cut off at an inner frame."""
    head, inner, rest = svg.partition('<svg class="definition-scale"')
    assert inner
    attributes, _, body = rest.partition(">")
    attributes = _FRAME.sub("", attributes)
    body, _, after = body.rpartition("</svg>")
    body, _, between = body.rpartition("</svg>")
    group = f'<g class="definition-scale"{attributes} transform="scale({1 / _INNER})">'
    return f"{head}{group}{body}</g>{between}</svg>{after}"


def _with_own_fonts(svg: str) -> str:
    for theirs, ours in _FONTS:
        svg = svg.replace(theirs, ours)
    return re.sub(r"<desc>.*?</desc>", "", svg, count=1)


def score_pages(
    score: Score,
    form: Form,
    *,
    paper: Paper = A4,
    ppi: float = PPI,
) -> list[bytes]:
    """The whole score on paper: one PDF, or a PNG or SVG a page."""
    music = Pictures(paper, form, ppi)
    first = heading_mm(score.composer)
    data = {**title_data(score), "systems": music.add(score, first=first)}
    return typeset("score", data, music.svgs, form, paper=paper, ppi=ppi)


def title_data(song: Song | Score, subtitle: str = "") -> dict[str, Any]:
    """What every sheet's heading needs."""
    return {
        "title": clean(song.title),
        "subtitle": subtitle,
        "composer": clean(song.composer),
        "rights": clean(song.rights),
    }


class Pictures:
    """Collects the systems of the scores that a sheet shows, as SVG texts by file name.

    Pages that are pixels have theirs on whole pixels, as the typesetter else leaves out a row
    here and there.
    """

    def __init__(self, paper: Paper, form: Form, ppi: float) -> None:
        self.paper = paper
        self.svgs: dict[str, str] = {}
        self._pixel_mm = _INCH_MM / ppi if form == "png" else None

    def begun(self) -> Pictures:
        """Another collection that begins with what is in this one."""
        other = copy(self)
        other.svgs = dict(self.svgs)
        return other

    def add(
        self,
        score: Score,
        *,
        share: float = 1.0,
        first: float | None = None,
        gap: float = GAPS_MM[0],
    ) -> list[dict[str, Any]]:
        """Engrave a score, `share` of the text wide; what the templates need of each system.

        `first` millimetres of its first page are taken by what stands over it. Where that is
        known, its systems are spread over their pages, and made smaller if one page or two
        facing ones then hold them all; else each has a `gap` over it.
        """
        width = self.paper.text_width * share
        starts = system_starts(score)
        systems = engrave_systems(score, width)
        places = [Place(gap)] * len(systems)
        if first is not None:
            zoom = self._zoom(score, _heights(systems, starts, width), first)
            if zoom < score.zoom:
                systems = engrave_systems(replace(score, zoom=zoom), width)
            heights = [sum(pair) for pair in _heights(systems, starts, width)]
            opens = [bool(measure.letter) for measure in starts]
            places = placed(heights, opens, self.paper, first)
        if self._pixel_mm is not None:
            width = int(width / self._pixel_mm) * self._pixel_mm
            systems = [_in_whole_rows(svg, width / self._pixel_mm) for svg in systems]
        out: list[dict[str, Any]] = []
        for svg, measure, place in zip(systems, starts, places, strict=True):
            name = f"system-{len(self.svgs) + 1}.svg"
            self.svgs[name] = svg
            how = {"width": width - _SLIGHT, "gap": place.gap, "breaks": place.breaks}
            out.append({"file": name, **how, **heading(measure)})
        return out

    def _zoom(self, score: Score, heights: Sequence[tuple[float, float]], first: float) -> float:
        """The largest size of the staves at which no page need be turned; else the score's."""

        def pages(zoom: float) -> int:
            needed = [music * zoom / score.zoom + over + GAPS_MM[-1] for music, over in heights]
            return pages_needed(needed, self.paper, first)

        for most, least in ((1, LEAST_ZOOM), (2, ZOOMS[1])):
            for zoom in (score.zoom, *(size for size in (*ZOOMS, LEAST_ZOOM) if size < score.zoom)):
                if zoom >= min(least, score.zoom) and pages(zoom) <= most:
                    return zoom
        return score.zoom


def _heights(
    systems: Sequence[str], starts: Sequence[Measure], width: float
) -> list[tuple[float, float]]:
    """Of each system the height of its music and of the line over it, in millimetres."""
    return [
        (width * _proportion(svg), _HEADING_MM if measure.letter else 0.0)
        for svg, measure in zip(systems, starts, strict=True)
    ]


def _proportion(svg: str) -> float:
    """The height of a picture, its width taken as 1."""
    found = _VIEW.search(svg)
    assert found is not None
    return float(found[2]) / float(found[1])


def _in_whole_rows(svg: str, pixels: float) -> str:
    """The picture, so many pixels wide, with air under it up to a whole row of them."""
    found = _VIEW.search(svg)
    assert found is not None
    wide, high = float(found[1]), float(found[2])
    rows = ceil(high * pixels / wide)
    view = found[0][: found.start(2) - found.start()]
    return svg.replace(found[0], f'{view}{(rows - _SLIGHT) * wide / pixels:.4f}"', 1)


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
        "name": "" if measure.section == measure.letter else clean(measure.section),
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
