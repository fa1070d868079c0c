"""Examples inside sheets: a figure on one chord, and scores without headings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from engine.arrange import arrange
from engine.exchange.engrave import Pictures
from engine.exchange.layout import lay_out
from engine.exchange.score import Score
from engine.exchange.sheets.content import FigureUse
from engine.harmony import analyse
from engine.song import Section, Song, build

#: Bars of the progression that a figure is shown over.
FIGURE_BARS = 4
#: Air over an example under the words that lead to it, in millimetres.
EXAMPLE_MM = 2.5
#: The width of one bar beside its tokens, as a share of the text's.
_ONE_BAR = 0.5


def figure_data(
    music: Pictures, use: FigureUse, alone: Score | None, steps: Iterable[tuple[str, Score]]
) -> dict[str, Any]:
    """A figure for the templates: its tokens, itself `alone` on one chord, and step by step."""
    return {
        "name": use.name,
        "tokens": [{"hand": f"{hand} hand", "text": text} for hand, text in use.tokens],
        "one_chord": music.add(plain(alone), share=_ONE_BAR) if alone is not None else [],
        "steps": [
            {"text": text, "systems": music.add(plain(score), gap=EXAMPLE_MM)}
            for text, score in steps
        ],
    }


def plain(score: Score, *, joined: bool = False) -> Score:
    """A score without section letters and tempo, for an example inside a sheet.

    It stands on one line where it is to be `joined`.
    """
    parts = tuple(
        replace(
            part,
            measures=tuple(
                replace(m, letter="", section="", tempo=None, new_line=m.new_line and not joined)
                for m in part.measures
            ),
        )
        for part in score.parts
    )
    return replace(score, parts=parts)


def on_one_chord(song: Song, section: int) -> Score | None:
    """One bar of a section's figures on its first chord, undecorated."""
    made = one_chord_song(song, section)
    if made is None:
        return None
    reading = analyse(made, fixed_key=True)
    part = replace(arrange(made, reading), dynamics=())
    return lay_out(made, reading, part, numerals=False)


def one_chord_song(song: Song, section: int) -> Song | None:
    """A song of one bar: the section's first chord with its figures and no decoration."""
    bars = [bar for bar in song.bars if bar.section == section]
    symbol = next(
        (slot.chord.symbol for bar in bars for slot in bar.slots if slot.chord is not None), None
    )
    if symbol is None:
        return None
    first = bars[0]
    quiet = replace(
        first.settings, busy=0.0, outside=0.0, doubling=0.0, anticipation=0.0, arc=None,
        key=first.key, meter=first.meter, tempo=first.tempo,
    )  # fmt: skip
    return build(
        song.title,
        quiet,
        (Section(song.sections[section].name, f"| {symbol} |"),),
        reach=song.reach,
    )
