"""The chord chart: the chords by bar and beat, four bars a line, with numerals."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from engine.exchange.engrave import heading, title_data
from engine.exchange.fold import folded
from engine.exchange.frame import frame_measures
from engine.exchange.lines import BARS_A_LINE, line_sizes
from engine.exchange.paging import best_gap, heading_mm
from engine.exchange.printed import printed
from engine.exchange.score import Measure, ScorePart, Symbol
from engine.exchange.typeset import A4, PPI, Form, Paper, typeset
from engine.harmony import Reading
from engine.song import Song

#: Millimetres a letter of a symbol takes at the least size that is read well, and a gap.
_LETTER_MM = 2.2
_GAP_MM = 2.0
#: Heights of a line of bars, with numerals and without, and of the line over a section.
_ROW_MM, _PLAIN_ROW_MM, _HEADING_MM = 15.0, 11.0, 9.0
#: Places on a line: one wide bar may press the others a little.
_PLACES = BARS_A_LINE + 1


def chord_chart_pages(
    song: Song,
    reading: Reading,
    form: Form = "pdf",
    *,
    numerals: bool = True,
    paper: Paper = A4,
    ppi: float = PPI,
) -> list[bytes]:
    """The chords by bar and beat with numerals under them.

    Four bars a line; a bar whose symbols are too long for that takes two places.
    """
    frame = frame_measures(song, song.bars, reading, symbols=True, numerals=numerals)
    measures = folded((ScorePart("Chart", "", ("G2",), tuple(frame)),))[0].measures
    data: dict[str, Any] = {
        **title_data(song),
        "facts": [song.key.symbol, song.meter.name],
        "numerals": numerals,
        "a_line": BARS_A_LINE,
        "sections": [
            _section(section, paper.text_width / BARS_A_LINE) for section in _sections(measures)
        ],
    }
    data["row"] = _ROW_MM if numerals else _PLAIN_ROW_MM
    data["gap"] = _gap(data, paper)
    data["sections"][-1]["lines"][-1][-1]["end"] = "close" if measures[-1].repeat_closes else "end"
    return typeset("chart", data, {}, form, paper=paper, ppi=ppi)


def _gap(data: dict[str, Any], paper: Paper) -> float:
    """The air under a line of bars."""
    heights = [
        data["row"] + (_HEADING_MM if n == 0 else 0)
        for section in data["sections"]
        for n, _ in enumerate(section["lines"])
    ]
    return min(3.0, best_gap(heights, paper, heading_mm("facts", data["composer"])) - 1)


def _sections(measures: Sequence[Measure]) -> list[Sequence[Measure]]:
    cuts = [n for n, measure in enumerate(measures) if measure.letter]
    return [measures[a:b] for a, b in zip(cuts, [*cuts[1:], len(measures)], strict=True)]


def _section(measures: Sequence[Measure], place_mm: float) -> dict[str, Any]:
    places = [2 if _needs(measure) > place_mm else 1 for measure in measures]
    sizes = line_sizes(len(measures), lambda a, b: sum(places[a:b]) <= _PLACES)
    lines: list[list[dict[str, Any]]] = []
    at = 0
    for size in sizes:
        own = list(zip(measures[at : at + size], places[at : at + size], strict=True))
        over = sum(place for _, place in own) > _PLACES
        lines.append([_bar(measure, 1 if over else place) for measure, place in own])
        at += size
    return {**heading(measures[0]), "lines": lines}


def _slots(measure: Measure) -> list[tuple[Symbol, Fraction, str]]:
    """Each symbol with its share of the bar and its numeral."""
    numerals = {numeral.onset: numeral.printed for numeral in measure.numerals}
    ends = [*(symbol.onset for symbol in measure.symbols[1:]), measure.meter.bar]
    return [
        (symbol, (end - symbol.onset) / measure.meter.bar, numerals.get(symbol.onset, ""))
        for symbol, end in zip(measure.symbols, ends, strict=True)
    ]


def _text(symbol: Symbol) -> str:
    return printed(symbol.chord.pretty) if symbol.chord is not None else symbol.text


def _needs(measure: Measure) -> float:
    """The width in millimetres that lets every symbol stand in its beats."""
    return max(
        (len(_text(symbol)) * _LETTER_MM + _GAP_MM) / float(share)
        for symbol, share, _ in _slots(measure)
    )


def _bar(measure: Measure, places: int) -> dict[str, Any]:
    bar, beat = measure.meter.bar, measure.meter.beat
    return {
        "places": places,
        "chords": [
            {
                "at": float(symbol.onset / bar),
                "share": float(share),
                "text": _text(symbol),
                "numeral": numeral,
            }
            for symbol, share, numeral in _slots(measure)
        ],
        "beats": [float(n * beat / bar) for n in range(measure.meter.beats)],
        "mark": _mark(measure),
        "opens": measure.repeat_opens,
        "ending": f"{measure.ending}." if measure.ending_opens else "",
        "in_ending": bool(measure.ending),
        "ending_closes": measure.ending_closes,
        "end": "close" if measure.repeat_closes else "",
    }


def _mark(measure: Measure) -> str:
    """A meter or key that is new in this bar."""
    if measure.number == 1:
        return ""
    new = [
        measure.meter.name if measure.shows_meter else "",
        measure.key.symbol if measure.shows_key else "",
    ]
    return " ".join(text for text in new if text)
