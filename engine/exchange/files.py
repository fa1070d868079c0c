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
    from engine.exchange.sheets.plan import Practised
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

    return score_xml(_score(song, reading, part, bars, hands, exact=True))


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


def lesson_pdf(
    song: Song,
    reading: Reading,
    part: Part,
    *,
    practised: tuple[Practised, ...] = (),
    paper: Paper | None = None,
) -> bytes:
    """The lesson sheet: chords, figures, skeleton, hardest bars, practice plan, score."""
    from engine.exchange.sheets.lesson import lesson_pages
    from engine.exchange.typeset import A4

    return lesson_pages(song, reading, part, practised=practised, paper=paper or A4)[0]


def lesson_markdown(
    song: Song, reading: Reading, part: Part, practised: tuple[Practised, ...] = ()
) -> str:
    """The lesson sheet's words and tables as Markdown."""
    from engine.exchange.sheets.markdown import lesson_markdown as written

    return written(song, reading, part, practised)


def lead_sheet_pdf(song: Song, reading: Reading, *, paper: Paper | None = None) -> bytes:
    """Melody, or slashes, and chord symbols on one staff."""
    from engine.exchange.sheets.leads import lead_sheet_pages
    from engine.exchange.typeset import A4

    return lead_sheet_pages(song, reading, paper=paper or A4)[0]


def chord_chart_pdf(song: Song, reading: Reading, *, paper: Paper | None = None) -> bytes:
    """The chords by bar and beat, with numerals."""
    from engine.exchange.sheets.chart import chord_chart_pages
    from engine.exchange.typeset import A4

    return chord_chart_pages(song, reading, paper=paper or A4)[0]


def figure_sheet_pdf(
    song: Song, reading: Reading, part: Part, *, paper: Paper | None = None
) -> bytes:
    """Each figure on one chord, in the progression and in a second key."""
    from engine.exchange.sheets.figure_sheet import figure_sheet_pages
    from engine.exchange.typeset import A4

    return figure_sheet_pages(song, reading, part, paper=paper or A4)[0]


def singers_pack_pdf(song: Song, *, paper: Paper | None = None) -> bytes:
    """The song in three keys, each with range, starting note and lead sheet."""
    from engine.exchange.sheets.singer import singers_pack_pages
    from engine.exchange.typeset import A4

    return singers_pack_pages(song, paper=paper or A4)[0]


def _score(
    song: Song,
    reading: Reading,
    part: Part,
    bars: tuple[int, int] | None,
    hands: Sequence[Hand],
    *,
    exact: bool = False,
) -> Score:
    from engine.exchange.layout import lay_out

    return lay_out(song, reading, part, bars=bars, hands=hands, ritard=True, exact=exact)
