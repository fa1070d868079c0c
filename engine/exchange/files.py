"""A song's part as files: MusicXML, engraved pages and sheets, each made at first use.

The libraries that engrave and typeset are loaded when the first file is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from engine.harmony import Reading
from engine.part import Part
from engine.song import Hand, Song

if TYPE_CHECKING:
    from engine.exchange.score import Score
    from engine.exchange.typeset import Paper

BOTH_HANDS = (Hand.RIGHT, Hand.LEFT)


def write_musicxml(
    song: Song,
    reading: Reading,
    part: Part,
    *,
    bars: tuple[int, int] | None = None,
    hands: Sequence[Hand] = BOTH_HANDS,
) -> bytes:
    """The score as a MusicXML 4.0 document; `bars` counted from 1, inclusive."""
    from engine.exchange.musicxml import score_xml

    return score_xml(_score(song, reading, part, bars, hands))


def write_mxl(
    song: Song,
    reading: Reading,
    part: Part,
    *,
    bars: tuple[int, int] | None = None,
    hands: Sequence[Hand] = BOTH_HANDS,
) -> bytes:
    """The score as zipped MusicXML."""
    from engine.exchange.mxl import zipped

    return zipped(write_musicxml(song, reading, part, bars=bars, hands=hands))


def engrave_svg(
    song: Song,
    reading: Reading,
    part: Part,
    *,
    bars: tuple[int, int] | None = None,
    hands: Sequence[Hand] = BOTH_HANDS,
    paper: Paper | None = None,
) -> list[str]:
    """The engraved score, one SVG a page; its letters are outlines, so it needs no font."""
    from engine.exchange.engrave import score_pages
    from engine.exchange.typeset import A4

    score = _score(song, reading, part, bars, hands)
    return [page.decode() for page in score_pages(score, "svg", paper=paper or A4)]


def engrave_pdf(
    song: Song,
    reading: Reading,
    part: Part,
    *,
    bars: tuple[int, int] | None = None,
    hands: Sequence[Hand] = BOTH_HANDS,
    paper: Paper | None = None,
) -> bytes:
    """The engraved score as a PDF with its fonts embedded."""
    from engine.exchange.engrave import score_pages
    from engine.exchange.typeset import A4

    return score_pages(_score(song, reading, part, bars, hands), "pdf", paper=paper or A4)[0]


def engrave_png(
    song: Song,
    reading: Reading,
    part: Part,
    *,
    bars: tuple[int, int] | None = None,
    hands: Sequence[Hand] = BOTH_HANDS,
    paper: Paper | None = None,
    ppi: float = 144,
) -> list[bytes]:
    """The engraved score, one PNG a page, at `ppi` pixels an inch."""
    from engine.exchange.engrave import score_pages
    from engine.exchange.typeset import A4

    score = _score(song, reading, part, bars, hands)
    return score_pages(score, "png", paper=paper or A4, ppi=ppi)


def _score(
    song: Song,
    reading: Reading,
    part: Part,
    bars: tuple[int, int] | None,
    hands: Sequence[Hand],
) -> Score:
    from engine.exchange.layout import lay_out

    return lay_out(song, reading, part, bars=bars, hands=hands)
