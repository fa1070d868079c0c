"""Examples inside sheets: a figure on one chord, and scores without headings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from engine.arrange import arrange
from engine.exchange.engrave import Pictures
from engine.exchange.layout import lay_out
from engine.exchange.score import Score
from engine.exchange.sheets.content import FigureUse, Tokens, figure_uses
from engine.exchange.spacing import ZOOMS
from engine.harmony import analyse
from engine.song import Hand, Section, Song, build

#: Bars of the progression that a figure is shown over.
FIGURE_BARS = 4
#: Air over an example under the words that lead to it, in millimetres.
EXAMPLE_MM = 2.5
#: The width of one bar beside its tokens, as a share of the text's.
_ONE_BAR = 0.5


def figure_data(
    music: Pictures,
    song: Song,
    use: FigureUse,
    steps: Iterable[tuple[str, Score]],
    *,
    zoom: float = ZOOMS[0],
) -> dict[str, Any]:
    """A figure for the templates: its tokens and notes on one chord, and then step by step.

    `zoom` is the most that the size of its staves may be.
    """
    found = on_one_chord(song, use)
    tokens = found[0] if found is not None else use.tokens
    return {
        "name": use.name,
        "tokens": [{"hand": f"{hand} hand", "text": text} for hand, text in tokens],
        "one_chord": music.add(plain(found[1], zoom=zoom), share=_ONE_BAR) if found else [],
        "steps": [
            {"text": text, "systems": music.add(plain(score, zoom=zoom), gap=EXAMPLE_MM)}
            for text, score in steps
        ],
    }


def plain(score: Score, *, joined: bool = False, zoom: float = ZOOMS[0]) -> Score:
    """A score without section letters and tempo, for an example inside a sheet.

    It stands on one line where it is to be `joined`; `zoom` is the most that its size may be.
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
    return replace(score, parts=parts, zoom=min(score.zoom, zoom))


def on_one_chord(song: Song, use: FigureUse) -> tuple[Tokens, Score] | None:
    """One bar of a section's figures on its first chord, undecorated: tokens, and the score."""
    made = one_chord_song(song, use)
    if made is None:
        return None
    reading = analyse(made, fixed_key=True)
    part = replace(arrange(made, reading), dynamics=())
    tokens = next((each.tokens for each in figure_uses(made, part)), use.tokens)
    return tokens, lay_out(made, reading, part, numerals=False)


def one_chord_song(song: Song, use: FigureUse) -> Song | None:
    """A song of one bar: the section's first chord with its figures and no decoration.

    A hand that has no figure of the writer's plays what fell to it, so that the bar does not
    turn into an ending.
    """
    bars = [bar for bar in song.bars if bar.section == use.section]
    symbol = next(
        (slot.chord.symbol for bar in bars for slot in bar.slots if slot.chord is not None), None
    )
    if symbol is None:
        return None
    first, fell = bars[0], dict(use.tokens)
    quiet = replace(
        first.settings, busy=0.0, outside=0.0, doubling=0.0, anticipation=0.0, arc=None,
        key=first.key, meter=first.meter, tempo=first.tempo,
        right=first.settings.right or fell.get(Hand.RIGHT),
        left=first.settings.left or fell.get(Hand.LEFT),
    )  # fmt: skip
    return build(
        song.title,
        quiet,
        (Section(song.sections[use.section].name, f"| {symbol} |"),),
        reach=song.reach,
    )
