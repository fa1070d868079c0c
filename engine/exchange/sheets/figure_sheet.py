"""The figure sheet: each figure on one chord, in the progression, and in a second key."""

from __future__ import annotations

from typing import Any

from engine.arrange import arrange
from engine.exchange.engrave import Pictures, title_data
from engine.exchange.layout import lay_out
from engine.exchange.sheets.content import FigureUse, figure_uses
from engine.exchange.sheets.excerpt import FIGURE_BARS, figure_data
from engine.exchange.typeset import A4, PPI, Form, Paper, typeset
from engine.harmony import Reading, analyse
from engine.part import Part
from engine.pitch import Interval
from engine.song import Song, transpose

#: The second key lies a fourth up: another set of black keys, near enough to read at once.
SECOND_KEY = Interval(3, 5)


def figure_sheet_pages(
    song: Song,
    reading: Reading,
    part: Part,
    form: Form = "pdf",
    *,
    paper: Paper = A4,
    ppi: float = PPI,
) -> list[bytes]:
    """Every figure of the song, once for each section that has a new one."""
    music = Pictures(paper, form, ppi)
    moved = transpose(song, SECOND_KEY)
    moved_reading = analyse(moved)
    second = (moved, moved_reading, arrange(moved, moved_reading))
    data: dict[str, Any] = {
        **title_data(song, "Figure sheet"),
        "facts": [song.key.symbol, song.meter.name, f"then {moved.key.symbol}"],
        "figures": [
            _figure(music, (song, reading, part), second, use) for use in figure_uses(song, part)
        ],
    }
    return typeset("figures", data, music.svgs, form, paper=paper, ppi=ppi)


def _figure(
    music: Pictures,
    first: tuple[Song, Reading, Part],
    second: tuple[Song, Reading, Part],
    use: FigureUse,
) -> dict[str, Any]:
    song = first[0]
    bars = [bar for bar in song.bars if bar.section == use.section][:FIGURE_BARS]
    numbers = (bars[0].number, bars[-1].number)
    steps = [
        (text, lay_out(*made, bars=numbers, melody=False))
        for text, made in (("In the progression", first), (f"In {second[0].key.symbol}", second))
    ]
    return figure_data(music, song, use, steps)
