"""The plan: how high each bar stands on the arc, where phrases end, and the dynamics.

A height of 0 is calm, 1 the peak. It comes from the written arc, else from a
default that rises to one peak and falls, the peak on the most expressive
harmony around the middle of the section, the sections rising towards the last
third of the song.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from engine.harmony import Category, Reading
from engine.part import Dynamic
from engine.song import Song, arc_marks, is_intro

#: Heights of the dynamic marks.
MARKS = {"ppp": 0.0, "pp": 0.1, "p": 0.25, "mp": 0.4, "mf": 0.58, "f": 0.78, "ff": 0.92, "fff": 1.0}
#: How far a category pulls the peak towards itself.
_EXPRESSIVE = {
    Category.BORROWED: 5, Category.NEAPOLITAN: 6, Category.AUGMENTED_SIXTH: 6,
    Category.CHROMATIC: 5, Category.MEDIANT: 5, Category.SUBSTITUTE: 5, Category.APPLIED: 4,
    Category.COMMON_TONE: 4, Category.BACKDOOR: 4, Category.CADENTIAL: 3, Category.SUSPENDED: 2,
}  # fmt: skip
PHRASE = 4
#: Heights where an introduction begins, has its peak and ends.
INTRO = (0.2, 0.3, 0.3)


@dataclass(frozen=True, slots=True)
class Plan:
    """For each bar: `heights` 0–1, `phrase` its place in the phrase and the phrase's length.

    `peaks` are the indices of the bars where a section's arc peaks, `sparse`
    those where an introduction begins, with its figure thinned over a held bass.
    """

    heights: tuple[float, ...]
    phrase: tuple[tuple[int, int], ...]
    peaks: frozenset[int]
    dynamics: tuple[Dynamic, ...]
    sparse: frozenset[int] = frozenset()


def plan(song: Song, reading: Reading) -> Plan:
    """The plan of a song."""
    heights: list[float] = []
    phrases: list[tuple[int, int]] = []
    peaks: set[int] = set()
    sparse: set[int] = set()
    dynamics: list[Dynamic] = []
    start = 0
    bounds = _sections(song)
    leads_in = [is_intro(song.sections[song.bars[end - 1].section]) for end in bounds]
    for number, end in enumerate(bounds):
        size = end - start
        section = song.sections[song.bars[start].section]
        text = section.settings.arc or song.settings.arc
        pull = expressive(song, reading, start, end) if section.peak is None else ()
        peak = section.peak - 1 if section.peak is not None else _peak(pull, size)
        before = sum(leads_in[:number])
        level = INTRO if leads_in[number] else _level(number - before, len(bounds) - sum(leads_in))
        marks = arc_marks(text) if text else ()
        shape = _written(marks, size, section.peak) if marks else _default(size, peak, level)
        for at in range(size):
            own = song.bars[start + at].own.settings.arc
            if own:
                shape[at] = MARKS[arc_marks(own)[0][0]]
        heights += shape
        if leads_in[number]:
            sparse.update(range(start, start + -(-size // 2)))
        else:
            peaks.add(start + max(range(size), key=lambda at: (shape[at], -abs(at - peak))))
        phrases += phrase_places(size)
        dynamics += _dynamics(song, start, shape, marks, section.peak)
        start = end
    return Plan(
        tuple(heights), tuple(phrases), frozenset(peaks), tuple(dynamics), frozenset(sparse)
    )


def _sections(song: Song) -> list[int]:
    """Where each section ends, as bar indices."""
    ends = [
        index
        for index in range(1, len(song.bars))
        if song.bars[index].section != song.bars[index - 1].section
    ]
    return [*ends, len(song.bars)]


@lru_cache(maxsize=256)
def phrase_places(size: int) -> tuple[tuple[int, int], ...]:
    """For each bar of a section its place in its phrase of four bars, and the phrase's length.

    A last phrase of one bar joins the one before it.
    """
    lengths = [PHRASE] * (size // PHRASE)
    rest = size % PHRASE
    if rest == 1 and lengths:
        lengths[-1] += 1
    elif rest:
        lengths.append(rest)
    return tuple((at, length) for length in lengths for at in range(length))


def expressive(song: Song, reading: Reading, start: int, end: int) -> tuple[int, ...]:
    """How expressive the harmony of each bar is: notes outside the key and unusual categories."""
    found = []
    for index in range(start, end):
        bar = song.bars[index]
        best = 0
        for slot in range(len(bar.slots)):
            read = reading.at(bar.number, slot)
            if read is not None:
                here = 2 * len(read.outside) + _EXPRESSIVE.get(read.category, 0)
                best = max(best, here)
        found.append(best)
    return tuple(found)


def _peak(pull: tuple[int, ...], size: int) -> int:
    """The most expressive bar of the middle third; strong bars of a phrase win ties."""
    low, high = size // 3, max(size // 3 + 1, -(-2 * size // 3))
    middle = (low + high - 1) / 2
    return max(range(low, high), key=lambda at: (pull[at], at % 2 == 0, -abs(at - middle - 0.6)))


def _level(number: int, count: int) -> tuple[float, float, float]:
    """Height at a section's beginning, peak and end: the song's own arc over its sections."""
    if count == 1:
        return 0.3, 0.75, 0.25
    high = max(1, round((count - 1) * 0.7))
    near = 1 - abs(number - high) / count
    last = 0.2 if number == count - 1 else 0.25 + 0.2 * near
    return 0.2 + 0.25 * near, 0.45 + 0.4 * near, last


def _default(size: int, peak: int, level: tuple[float, float, float]) -> list[float]:
    low, high, last = level
    found = []
    for at in range(size):
        if at <= peak:
            share = at / peak if peak else 1.0
            found.append(low + (high - low) * share)
        else:
            found.append(high + (last - high) * (at - peak) / (size - 1 - peak))
    return found


def _anchors(
    marks: tuple[tuple[str, str], ...], size: int, peak: int | None
) -> list[tuple[float, float, str]]:
    """Each mark as (bar, height, way on), spread evenly; the loudest at a peak that is set."""
    count = len(marks)
    places = [0.0] if count == 1 else [(size - 1) * n / (count - 1) for n in range(count)]
    if any(not way for _, way in marks[:-1]):
        places = [size * n / count for n in range(count)]
    heights = [MARKS[mark] for mark, _ in marks]
    if peak is not None and count > 1:
        top = heights.index(max(heights))
        goal = min(peak - 1, size - 1)
        for n in range(count):
            if n <= top:
                places[n] = goal * n / top if top else float(goal)
            else:
                places[n] = goal + (size - 1 - goal) * (n - top) / (count - 1 - top)
    ways = [way for _, way in marks]
    return list(zip(places, heights, ways, strict=True))


def _written(marks: tuple[tuple[str, str], ...], size: int, peak: int | None) -> list[float]:
    anchors = _anchors(marks, size, peak)
    found = []
    for at in range(size):
        height = anchors[0][1]
        for (place, here, way), following in zip(anchors, [*anchors[1:], None], strict=True):
            if place > at + 1e-9:
                break
            height = here
            if way and following is not None:
                share = min(1.0, (at - place) / max(1e-9, following[0] - place))
                height = here + (following[1] - here) * share
        found.append(height)
    return found


def nearest_mark(height: float) -> str:
    """The dynamic mark of a height."""
    return min(MARKS, key=lambda mark: abs(MARKS[mark] - height))


def _dynamics(
    song: Song,
    start: int,
    shape: list[float],
    marks: tuple[tuple[str, str], ...],
    peak: int | None,
) -> list[Dynamic]:
    def onset(at: float) -> Fraction:
        whole = int(at)
        bar = song.bars[start + min(whole, len(shape) - 1)]
        return bar.start + (bar.meter.bar if whole >= len(shape) else Fraction(0))

    if not marks:
        high = shape.index(max(shape))
        points = sorted({0, high, len(shape) - 1})
        anchors = [(float(at), shape[at], "") for at in points]
    else:
        anchors = _anchors(marks, len(shape), peak)
    found: list[Dynamic] = []
    names = [mark for mark, _ in marks] or [nearest_mark(height) for _, height, _ in anchors]
    for index, (place, _, _) in enumerate(anchors):
        if not found or found[-1].mark != names[index]:
            at = onset(place)
            if found and found[-1].onset == at:
                found.pop()
            found.append(Dynamic(at, names[index]))
        if index + 1 < len(anchors) and names[index] != names[index + 1]:
            way = anchors[index][2] if marks else _way(names[index], names[index + 1])
            here, there = onset(place), onset(anchors[index + 1][0])
            if way and there > here:
                found += [Dynamic(here, way), Dynamic(there, "end")]
    return found


def _way(before: str, after: str) -> str:
    return "<" if MARKS[after] > MARKS[before] else ">"
