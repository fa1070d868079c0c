"""The lesson sheet on paper: the lesson's words and the music that goes with them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, NamedTuple

from engine.exchange.engrave import Pictures, tempo_text, title_data
from engine.exchange.layout import lay_out
from engine.exchange.paging import GAPS_MM, heading_mm
from engine.exchange.printed import printed
from engine.exchange.sheets.content import FigureUse, Lesson, beat_name, lesson
from engine.exchange.sheets.excerpt import EXAMPLE_MM, FIGURE_BARS, figure_data, plain
from engine.exchange.sheets.plan import PRACTISED, Practised
from engine.exchange.sheets.skeleton import skeleton
from engine.exchange.spacing import LEAST_ZOOM, ZOOMS, natural_share
from engine.exchange.typeset import A4, Form, Paper, page_count, typeset
from engine.harmony import Reading
from engine.part import Part
from engine.song import Song

#: Two examples stand beside each other, each so much of the text wide, where they need no more
#: than this with air.
_HALF, _BESIDE = 0.48, 0.57


class _Size(NamedTuple):
    """How large examples are: the most that their staves may be, the air over systems in mm."""

    zoom: float
    gap: float


#: The largest first: of these the first is taken with which the sheet has the fewest pages.
_SIZES = tuple(map(_Size, (*ZOOMS, LEAST_ZOOM), GAPS_MM))


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
    score = music.add(lay_out(song, reading, part, ritard=True), first=heading_mm())
    said = {**_said(song, words), "score": score}

    def made(size: _Size) -> tuple[dict[str, Any], Pictures]:
        more = music.begun()
        return {**said, **_examples(more, size, song, reading, part, words)}, more

    def pages(data: dict[str, Any], pictures: Pictures) -> int:
        return page_count("lesson", data, pictures.svgs, paper=paper)

    smallest = made(_SIZES[-1])
    least = pages(*smallest)
    larger = (found for size in _SIZES[:-1] if pages(*(found := made(size))) == least)
    data, pictures = next(larger, smallest)
    return typeset("lesson", data, pictures.svgs, form, paper=paper, ppi=ppi)


def _said(song: Song, words: Lesson) -> dict[str, Any]:
    """What the sheet says in words and tables."""
    return {
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
        "skeleton_intro": "Right-hand shapes as block chords over the bass notes.",
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
    }


def _examples(
    music: Pictures, size: _Size, song: Song, reading: Reading, part: Part, words: Lesson
) -> dict[str, Any]:
    """The music before the score: figures, skeleton, hardest bars."""
    bare = lay_out(song, reading, skeleton(song, part), melody=False)
    small = replace(bare, zoom=min(size.zoom, ZOOMS[-1]))  # it has few notes
    return {
        "figures": [_figure(music, size.zoom, song, reading, part, use) for use in words.figures],
        "skeleton": music.add(small, gap=size.gap),
        "hardest": _hardest(music, size.zoom, song, reading, part, words),
    }


def _with_note(fact: str, song: Song) -> str:
    """The tempo with the beat's note in place of its name."""
    if fact.startswith(beat_name(song.meter.beat)):
        return tempo_text(song.meter.beat, song.tempo)
    return fact


def _figure(
    music: Pictures, zoom: float, song: Song, reading: Reading, part: Part, use: FigureUse
) -> dict[str, Any]:
    bars = [bar for bar in song.bars if bar.section == use.section][:FIGURE_BARS]
    shown = lay_out(song, reading, part, bars=(bars[0].number, bars[-1].number), melody=False)
    steps = (("In the progression", shown),)
    return figure_data(music, song, use, steps, zoom=zoom)


def _hardest(
    music: Pictures, zoom: float, song: Song, reading: Reading, part: Part, words: Lesson
) -> list[list[dict[str, Any]]]:
    """The hardest bars in rows of one, or of two that are short."""
    out: list[list[dict[str, Any]]] = []
    half = False
    for bar in words.hardest:
        last = min(bar.number + 1, len(song.bars))
        score = lay_out(
            song, reading, part, bars=(bar.number, last), every_finger=True, melody=False
        )
        alone = plain(score, joined=True, zoom=zoom)
        share = natural_share(alone)
        short = share <= _BESIDE
        shown = {
            "number": bar.number,
            "grade": bar.grade,
            "reasons": "; ".join(bar.reasons),
            "systems": music.add(alone, share=_HALF if short else share, gap=EXAMPLE_MM),
        }
        if short and half:
            out[-1].append(shown)
        else:
            out.append([shown])
        half = short and not half
    return out
