"""The lesson sheet on paper: the lesson's words and the music that goes with them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from engine.exchange.engrave import Pictures, tempo_text, title_data
from engine.exchange.layout import lay_out
from engine.exchange.paging import heading_mm
from engine.exchange.printed import printed
from engine.exchange.score import Score
from engine.exchange.sheets.content import FigureUse, Lesson, beat_name, lesson
from engine.exchange.sheets.excerpt import EXAMPLE_MM, FIGURE_BARS, figure_data, plain
from engine.exchange.sheets.plan import PRACTISED, Practised
from engine.exchange.sheets.skeleton import skeleton
from engine.exchange.spacing import ZOOMS, natural_share
from engine.exchange.typeset import A4, Form, Paper, typeset
from engine.harmony import Reading
from engine.part import Part
from engine.song import Song


def lesson_pages(
    song: Song,
    reading: Reading,
    part: Part,
    form: Form = "pdf",
    *,
    practised: tuple[Practised, ...] = (),
    paper: Paper = A4,
    ppi: float = 144,
) -> list[bytes]:
    """The lesson sheet as one PDF, or a PNG or SVG a page."""
    words = lesson(song, reading, part, practised)
    music = Pictures(paper, form, ppi)
    score = lay_out(song, reading, part, ritard=True)
    data: dict[str, Any] = {
        **title_data(song, "Lesson sheet"),
        "facts": [_with_note(fact, song) for fact in words.facts],
        "chords_intro": words.chords_intro,
        "chords": [
            {
                "chord": printed(row.chord),
                "notes": printed(row.notes),
                "numeral": row.numeral,
                "function": row.function,
                "outside": printed(row.outside),
                "goes": printed(row.goes),
            }
            for row in words.chords
        ],
        "figures": [_figure(music, song, reading, part, use) for use in words.figures],
        "skeleton_intro": "Right-hand shapes as block chords over the bass notes.",
        "skeleton": music.add(_skeleton(song, reading, part)),
        "hardest": _hardest(music, song, reading, part, words),
        "plan_intro": words.plan_intro,
        "plan": [
            {
                "number": n,
                "bars": step.bars,
                "hands": step.hands,
                "tempo": str(step.tempo),
                "how": step.how,
                "boxes": step.boxes,
            }
            for n, step in enumerate(words.plan, start=1)
        ],
        "practised_heads": list(PRACTISED),
        "practised": [list(row.cells) for row in words.practised],
        "cautions": list(words.cautions),
        "score": music.add(score, first=heading_mm()),
    }
    return typeset("lesson", data, music.svgs, form, paper=paper, ppi=ppi)


def _skeleton(song: Song, reading: Reading, part: Part) -> Score:
    """The skeleton in staves as small as they may be: it has few notes."""
    score = lay_out(song, reading, skeleton(song, part), melody=False)
    return replace(score, zoom=ZOOMS[-1])


def _with_note(fact: str, song: Song) -> str:
    """The tempo with the beat's note in place of its name."""
    if fact.startswith(beat_name(song.meter.beat)):
        return tempo_text(song.meter.beat, song.tempo)
    return fact


def _figure(
    music: Pictures, song: Song, reading: Reading, part: Part, use: FigureUse
) -> dict[str, Any]:
    bars = [bar for bar in song.bars if bar.section == use.section][:FIGURE_BARS]
    shown = lay_out(song, reading, part, bars=(bars[0].number, bars[-1].number), melody=False)
    steps = (("In the progression", shown),)
    return figure_data(music, song, use, steps)


def _hardest(
    music: Pictures, song: Song, reading: Reading, part: Part, words: Lesson
) -> list[dict[str, Any]]:
    out: list[dict[str, Any]] = []
    for bar in words.hardest:
        last = min(bar.number + 1, len(song.bars))
        score = lay_out(
            song, reading, part, bars=(bar.number, last), every_finger=True, melody=False
        )
        alone = plain(score, joined=True)
        out.append(
            {
                "number": bar.number,
                "grade": bar.grade,
                "reasons": "; ".join(bar.reasons),
                "systems": music.add(alone, share=natural_share(alone), gap=EXAMPLE_MM),
            }
        )
    return out
