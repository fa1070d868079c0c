"""Every demo song as files: schema, the engraver's log, another reader, and ink on the pages."""

from __future__ import annotations

import io
from base64 import b64encode
from collections import Counter
from collections.abc import Callable
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest
from PIL import Image

from engine.arrange import arrange
from engine.exchange import write_musicxml, write_mxl
from engine.exchange.engrave import engrave_systems, score_pages
from engine.exchange.layout import lay_out
from engine.exchange.sheets.chart import chord_chart_pages
from engine.exchange.sheets.figure_sheet import figure_sheet_pages
from engine.exchange.sheets.leads import lead_sheet_pages
from engine.exchange.sheets.lesson import lesson_pages
from engine.exchange.sheets.singer import singers_pack_pages
from engine.exchange.typeset import A4, LETTER, Paper
from engine.harmony import Reading, analyse
from engine.part import Part
from engine.song import Song, load_song
from engine.song.melody import melody_notes
from tests.exchange.read_back import (
    notes_of,
    notes_of_part,
    read_back,
    symbols_of,
    symbols_of_song,
)
from tests.exchange.words import words_of
from tests.exchange.xsd import valid

SONGS = sorted((Path(__file__).parents[2] / "shared" / "songs").glob("*.toml"))
every_song = pytest.mark.parametrize("path", SONGS, ids=lambda path: path.stem)
PPI = 50
MM = PPI / 25.4
#: What is left white at the sides of a page, and above its foot, in millimetres.
WHITE = 12.0
Pages = Callable[[Song, Reading, Part, Paper], list[bytes]]
SHEETS: dict[str, Pages] = {
    "score": lambda s, r, p, paper: score_pages(lay_out(s, r, p), "png", paper=paper, ppi=PPI),
    "lesson": lambda s, r, p, paper: lesson_pages(s, r, p, "png", paper=paper, ppi=PPI),
    "lead": lambda s, r, _, paper: lead_sheet_pages(s, r, "png", paper=paper, ppi=PPI),
    "chart": lambda s, r, _, paper: chord_chart_pages(s, r, "png", paper=paper, ppi=PPI),
    "figures": lambda s, r, p, paper: figure_sheet_pages(s, r, p, "png", paper=paper, ppi=PPI),
    "singer": lambda s, _, __, paper: singers_pack_pages(s, "png", paper=paper, ppi=PPI),
}


@cache
def made(path: Path) -> tuple[Song, Reading, Part]:
    song = load_song(path)
    reading = analyse(song)
    return song, reading, arrange(song, reading)


@every_song
def test_music21_reads_the_same_notes_durations_ties_and_symbols(path: Path) -> None:
    song, reading, part = made(path)
    xml = write_musicxml(song, reading, part)
    valid(xml)
    stream = read_back(xml)
    assert notes_of(stream, staves=2) == notes_of_part(part)
    sung = Counter((note.pitch.name, note.onset, note.duration) for note in melody_notes(song))
    if sung:
        found = Counter({key[1:]: n for key, n in notes_of(stream).items() if key[0] == 0})
        assert found == sung
    assert symbols_of(stream) == symbols_of_song(song)


@every_song
def test_verovio_loads_it_without_a_word(path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    import verovio

    song, reading, part = made(path)
    verovio.enableLog(verovio.LOG_WARNING)
    toolkit = verovio.toolkit()
    assert toolkit.loadData(write_musicxml(song, reading, part).decode())
    assert toolkit.getPageCount() > 0
    zipped = b64encode(write_mxl(song, reading, part)).decode()
    assert toolkit.loadZipDataBase64(zipped)
    assert capfd.readouterr().err == ""


@pytest.mark.parametrize("sheet", SHEETS)
@every_song
def test_nothing_falls_off_a_page(path: Path, sheet: str) -> None:
    """The margins are white: what is cut off or runs over would lie there, or end there."""
    for paper in (A4, LETTER) if sheet in ("lesson", "chart") else (A4,):
        pages = SHEETS[sheet](*made(path), paper)
        for data in pages:
            page = Image.open(io.BytesIO(data)).convert("L")
            assert abs(page.width / MM - paper.width) < 1
            ink = page.point(lambda grey: 255 if grey < 200 else 0).getbbox()
            assert ink is not None
            left, top, right, bottom = (side / MM for side in ink)
            assert left > WHITE
            assert top > WHITE
            assert right < paper.width - WHITE
            assert bottom < paper.height - 6


@every_song
def test_no_page_of_figures_holds_the_rest_of_one(path: Path) -> None:
    """A figure stays on one page, so that no page but the last can end after one system."""
    for paper in (A4, LETTER):
        for data in figure_sheet_pages(*made(path), "png", paper=paper, ppi=PPI):
            page = Image.open(io.BytesIO(data)).convert("L")
            text = page.crop((0, 0, page.width, page.height - round(20 * MM)))
            ink = text.point(lambda grey: 255 if grey < 200 else 0).getbbox()
            assert ink is not None
            assert ink[3] > page.height * 0.45


@every_song
def test_some_bars_by_themselves_begin_with_their_fingers(path: Path) -> None:
    song, reading, part = made(path)
    for bar in song.bars:
        score = lay_out(song, reading, part, bars=(bar.number, bar.number), melody=False)
        for staff in score.parts[-1].measures[0].staves:
            heads = [head for entry in staff.voices[0].entries for head in entry.heads]
            struck = [head for head in heads if not head.tie_in]
            assert not struck or struck[0].finger is not None


@every_song
def test_lines_have_two_to_four_bars_and_no_word_meets_another(path: Path) -> None:
    song, reading, part = made(path)
    score = lay_out(song, reading, part)
    measures = score.parts[0].measures
    starts = [n for n, m in enumerate(measures) if n == 0 or m.new_line]
    sizes = [b - a for a, b in zip(starts, [*starts[1:], len(measures)], strict=True)]
    assert set(sizes) <= {2, 3, 4}
    assert all(measures[n].new_line for n, m in enumerate(measures) if n and m.letter)
    systems = engrave_systems(score, A4.text_width)
    assert len(systems) == len(sizes)
    for svg in systems:
        for one, other in combinations(words_of(svg), 2):
            assert not one.meets(other), f"“{one.text}” runs into “{other.text}”"
