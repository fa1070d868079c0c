"""How much room measures need: which go on a line, and how large the staves can be.

Widths are estimates in millimetres at full size, fitted to what the engraver
takes for a measure when nothing presses it together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from engine.exchange.lines import line_sizes
from engine.exchange.score import Measure, Score, ScorePart

#: Width of the music on the narrower of the papers.
LINE_MM = 180.0
#: Sizes of the staves, the largest that leaves most lines four bars is taken.
ZOOMS = (1.0, 0.9, 0.8)
#: Where one page then holds all: staves of 5.5 mm, as song books often have.
LEAST_ZOOM = 0.76
_BAR, _SIGN, _CLEF, _METER = 8.3, 1.9, 8.0, 6.0
#: A note takes the root of its distance to the next one (in whole notes) by this, but so much.
_NOTE, _CLOSEST = 10.4, 2.8
_LETTER, _GAP = 1.75, 1.2
_SUNG = 1.6
#: Notes may be pressed together by so much, words not.
_PRESSED, _NEVER = 1.15, 1.0
_MOST_BROKEN = 0.25
_AIRY = 1.2


@dataclass(frozen=True, slots=True)
class Need:
    """The width of a measure, of the clef and signature a line begins with, and the words' say."""

    width: float
    start: float
    worded: bool


def spaced(parts: Sequence[ScorePart]) -> tuple[tuple[ScorePart, ...], float]:
    """The parts with their lines, and the size of their staves."""
    if not parts or not parts[0].measures:
        return tuple(parts), 1.0
    needs = [_need(parts, n) for n in range(len(parts[0].measures))]
    sections = _sections(parts[0].measures)
    zoom = _zoom(sections, needs)
    starts = {at for low, high in sections for at in _starts(low, high, needs, zoom)}
    return tuple(
        replace(
            part,
            measures=tuple(replace(m, new_line=n in starts) for n, m in enumerate(part.measures)),
        )
        for part in parts
    ), zoom


def natural_share(score: Score) -> float:
    """The share of a line that a score of one line takes, with a little air; half at least."""
    needs = [_need(score.parts, n) for n in range(len(score.parts[0].measures))]
    width = needs[0].start + sum(need.width for need in needs)
    return min(1.0, max(0.5, _AIRY * width * score.zoom / LINE_MM))


def _zoom(sections: Sequence[tuple[int, int]], needs: Sequence[Need]) -> float:
    """The largest size at which most lines of four have room; else at which all shorter ones do."""
    for zoom in ZOOMS:
        if _broken(sections, needs, zoom) <= _MOST_BROKEN:
            return zoom
    for zoom in ZOOMS[1:]:
        starts = [at for low, high in sections for at in _starts(low, high, needs, zoom)]
        if all(_fits(needs[a:b], zoom) for a, b in pairwise([*starts, len(needs)])):
            return zoom
    return ZOOMS[-1]


def _sections(measures: Sequence[Measure]) -> list[tuple[int, int]]:
    cuts = [n for n, measure in enumerate(measures) if measure.letter or n == 0]
    return list(zip(cuts, [*cuts[1:], len(measures)], strict=True))


def _starts(low: int, high: int, needs: Sequence[Need], zoom: float) -> list[int]:
    sizes = line_sizes(high - low, lambda a, b: _fits(needs[low + a : low + b], zoom))
    return [low + sum(sizes[:n]) for n in range(len(sizes))]


def _broken(sections: Sequence[tuple[int, int]], needs: Sequence[Need], zoom: float) -> float:
    """The share of full lines that have no room at this size."""
    lines = [
        needs[low + at : low + at + size]
        for low, high in sections
        for at, size in _places(line_sizes(high - low))
    ]
    return sum(not _fits(line, zoom) for line in lines) / len(lines)


def _places(sizes: Sequence[int]) -> list[tuple[int, int]]:
    return [(sum(sizes[:n]), size) for n, size in enumerate(sizes)]


def _fits(line: Sequence[Need], zoom: float) -> bool:
    width = line[0].start + sum(need.width for need in line)
    most = _NEVER if any(need.worded for need in line) else _PRESSED
    return width <= most * LINE_MM / zoom


def _need(parts: Sequence[ScorePart], n: int) -> Need:
    measures = [part.measures[n] for part in parts]
    measure = measures[0]
    struck: dict[Fraction, bool] = {}
    for staff in (staff for each in measures for staff in each.staves):
        for entry in (entry for voice in staff.voices for entry in voice.entries):
            signed = any(head.accidental for head in entry.heads)
            at = entry.written.onset
            struck[at] = struck.get(at, False) or signed
    places = [*sorted(struck), measure.meter.bar]
    takes = {
        at: max(_CLOSEST, _NOTE * float(after - at) ** 0.5) + _SIGN / 2 * struck[at]
        for at, after in pairwise(places)
    }
    for low, high, text in _syllables(measures):
        notes = sum(room for at, room in takes.items() if low <= at < high)
        takes[low] += max(0.0, text * _SUNG + _GAP - notes)
    width, worded = _BAR, False
    for low, high, text in _words(measures):
        notes = sum(room for at, room in takes.items() if low <= at < high)
        letters = text * _LETTER + _GAP if text else 0.0
        width += max(notes, letters)
        worded = worded or letters > notes
    signature = abs(measure.key.signature) * _SIGN
    if measure.shows_meter:
        width += _METER
    after = parts[0].measures[n + 1] if n + 1 < len(parts[0].measures) else None
    if after is not None and after.shows_key:
        width += max(abs(after.key.signature), abs(measure.key.signature)) * _SIGN
    if after is not None and after.shows_meter:
        width += _METER
    return Need(width, _CLEF + signature, worded)


def _syllables(measures: Sequence[Measure]) -> list[tuple[Fraction, Fraction, int]]:
    """The stretches from one sung note to the next, with the letters of the longest verse's."""
    letters = {
        entry.written.onset: max(len(lyric.text) for lyric in entry.lyrics)
        for measure in measures
        for staff in measure.staves
        for voice in staff.voices
        for entry in voice.entries
        if entry.lyrics
    }
    edges = [*sorted(letters), measures[0].meter.bar]
    return [(low, high, letters[low]) for low, high in pairwise(edges)]


def _words(measures: Sequence[Measure]) -> list[tuple[Fraction, Fraction, int]]:
    """The stretches that symbols and numerals have to themselves, with their letters."""
    letters: dict[Fraction, int] = {Fraction(0): 0}
    for measure in measures:
        for symbol in measure.symbols:
            text = symbol.chord.pretty if symbol.chord is not None else "N.C."
            letters[symbol.onset] = max(letters.get(symbol.onset, 0), len(text))
        for numeral in measure.numerals:
            letters[numeral.onset] = max(letters.get(numeral.onset, 0), len(numeral.printed))
    places = sorted(letters)
    ends = [*places[1:], measures[0].meter.bar]
    return [(low, high, letters[low]) for low, high in zip(places, ends, strict=True)]
