"""How lengths are written: note values, ties that show the middle of the bar, tuplets.

A bar is a tree of spans (bar, halves, beat groups, beats, then halves of
halves). A length becomes one note value where it fills spans in a way a reader
sees at once, and is split and tied where it would hide a beat or the middle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from math import lcm

from engine.meter import Meter

#: Names of note values in MusicXML, by their length in whole notes.
TYPES = {
    Fraction(2): "breve",
    Fraction(1): "whole",
    Fraction(1, 2): "half",
    Fraction(1, 4): "quarter",
    Fraction(1, 8): "eighth",
    Fraction(1, 16): "16th",
    Fraction(1, 32): "32nd",
    Fraction(1, 64): "64th",
    Fraction(1, 128): "128th",
    Fraction(1, 256): "256th",
}
_SHORTEST = Fraction(1, 256)


@dataclass(frozen=True, slots=True)
class Tuplet:
    """`actual` notes in the time of `normal` notes of the value `unit` (in whole notes)."""

    actual: int
    normal: int
    unit: Fraction
    start: Fraction
    length: Fraction


@dataclass(frozen=True, slots=True)
class Span:
    """What sounds, or rests, between two places of a bar; `index` says which of the events."""

    onset: Fraction
    end: Fraction
    index: int | None


@dataclass(frozen=True, slots=True)
class Written:
    """One written note value or rest of a voice.

    `onset` from the bar's start and `duration` in whole notes as they sound;
    `value` is the written value without tuplet, `dots` included; `index` the
    event it belongs to, None for a rest. `more` says that the same event goes
    on in the next value, `goes_on` that it came from the one before.
    """

    onset: Fraction
    duration: Fraction
    value: Fraction
    index: int | None
    tuplet: Tuplet | None = None
    goes_on: bool = False
    more: bool = False
    whole_bar: bool = False

    @property
    def end(self) -> Fraction:
        return self.onset + self.duration

    @property
    def type(self) -> str:
        return TYPES[note_value(self.value)[0]]

    @property
    def dots(self) -> int:
        return note_value(self.value)[1]


@lru_cache(maxsize=4096)
def _value_or_none(length: Fraction) -> tuple[Fraction, int] | None:
    for dots, factor in ((0, Fraction(1)), (1, Fraction(3, 2)), (2, Fraction(7, 4))):
        base = length / factor
        if base in TYPES:
            return base, dots
    return None


def note_value(length: Fraction) -> tuple[Fraction, int]:
    """The undotted value and the number of dots of a writable length."""
    found = _value_or_none(length)
    assert found is not None, f"{length} is no note value"
    return found


@dataclass(frozen=True, slots=True)
class _Node:
    """A span of the bar that a reader sees as one; `level` 0 bar … 3 beat and below."""

    start: Fraction
    length: Fraction
    cuts: tuple[Fraction, ...]
    level: int

    @property
    def end(self) -> Fraction:
        return self.start + self.length


@lru_cache(maxsize=8192)
def _children(node: _Node, meter: Meter) -> tuple[_Node, ...]:
    bounds = (node.start, *node.cuts, node.end)
    return tuple(_node(meter, low, high - low, node.level + 1) for low, high in pairwise(bounds))


@lru_cache(maxsize=8192)
def _node(meter: Meter, start: Fraction, length: Fraction, level: int) -> _Node:
    end = start + length
    groups = tuple(at for at in meter.group_starts if start < at < end)
    middle = meter.middle
    if middle is not None and start < middle < end:
        return _Node(start, length, (middle,), 0)
    if groups:
        return _Node(start, length, groups, max(level, 1))
    unit = Fraction(1, meter.unit)
    if length > unit and (length / unit).denominator == 1:
        count = int(length / unit)
        if count == 4:
            return _Node(start, length, (start + 2 * unit,), max(level, 2))
        cuts = tuple(start + n * unit for n in range(1, count))
        return _Node(start, length, cuts, max(level, 2))
    return _Node(start, length, (start + length / 2,), max(level, 3))


def _bar_node(meter: Meter) -> _Node:
    return _node(meter, Fraction(0), meter.bar, 0)


def _regular(at: Fraction) -> bool:
    return at.denominator & (at.denominator - 1) == 0 and at.denominator <= 256


def _odd_part(number: int) -> int:
    while number % 2 == 0:
        number //= 2
    return number


def _tuplet_of(start: Fraction, length: Fraction, points: Sequence[Fraction]) -> Tuplet | None:
    actual = lcm(*(((at - start) / length).denominator for at in points))
    if actual > 24:
        return None
    odd = _odd_part(length.numerator)
    sizes = [odd * 2**n for n in range(6)]
    if odd == 1:
        normal = max(size for size in sizes if size <= actual)
    else:
        normal = min(sizes, key=lambda size: (abs(size - actual), size))
    unit = length / normal
    if normal == actual or unit not in TYPES:
        return None
    return Tuplet(actual, normal, unit, start, length)


def find_tuplets(meter: Meter, spans: Sequence[Span]) -> tuple[Tuplet, ...]:
    """The spans of a bar that need a tuplet so that every event of it can be written."""
    edges = [(span.onset, span.end) for span in spans]
    return tuple(_tuplets_in(_bar_node(meter), meter, edges))


def _tuplets_in(
    node: _Node, meter: Meter, edges: Sequence[tuple[Fraction, Fraction]]
) -> list[Tuplet]:
    marks = {at for edge in edges for at in edge if node.start < at < node.end}
    if all(_regular(at) for at in marks) or node.length <= Fraction(1, 128):
        return []
    children = _children(node, meter)
    whole = _tuplet_of(node.start, node.length, sorted(marks))
    if (
        whole is not None
        and whole.actual <= 15
        and (
            _crossed(children, edges, whole) or not all(_holds(child, marks) for child in children)
        )
    ):
        return [whole]
    return [found for child in children for found in _tuplets_in(child, meter, edges)]


def _crossed(
    children: tuple[_Node, ...], edges: Sequence[tuple[Fraction, Fraction]], whole: Tuplet
) -> bool:
    """Whether an event off the common grid runs over a division, as in three over two beats."""
    return whole.actual % 2 == 1 and any(
        low < child.start < high and not (_regular(low) and _regular(high))
        for child in children[1:]
        for low, high in edges
    )


def _holds(child: _Node, marks: set[Fraction]) -> bool:
    """Whether a tuplet in this child, or below it, can hold its points."""
    inside = [at for at in marks if child.start < at < child.end]
    if all(_regular(at) for at in inside):
        return True
    sizes = (((at - child.start) / child.length).denominator for at in inside)
    return child.length > Fraction(1, 64) and lcm(*sizes) <= 24


def write_bar(meter: Meter, spans: Sequence[Span], *, bar_rest: bool = True) -> tuple[Written, ...]:
    """The written values of one voice in one bar.

    `spans` are sorted, do not overlap and fill the bar. A bar with nothing but
    a rest becomes one whole-bar rest.
    """
    if bar_rest and all(span.index is None for span in spans):
        return (Written(Fraction(0), meter.bar, meter.bar, None, whole_bar=True),)
    return _written(meter, tuple(spans))


@lru_cache(maxsize=1024)
def _written(meter: Meter, spans: tuple[Span, ...]) -> tuple[Written, ...]:
    tuplets = find_tuplets(meter, spans)
    cuts = sorted({at for t in tuplets for at in (t.start, t.start + t.length)})
    written: list[Written] = []
    for span in spans:
        pieces = _cut(span, cuts)
        values: list[Written] = []
        for low, high in pieces:
            tuplet = next((t for t in tuplets if t.start <= low < t.start + t.length), None)
            if tuplet is None:
                values += [
                    Written(at, length, length, span.index)
                    for at, length in _split(meter, low, high, rest=span.index is None)
                ]
            else:
                values += _in_tuplet(tuplet, low, high, span.index)
        written += _linked(values) if span.index is not None else values
    return tuple(written)


def _linked(values: list[Written]) -> list[Written]:
    last = len(values) - 1
    return [replace(v, goes_on=n > 0, more=n < last) for n, v in enumerate(values)]


def _cut(span: Span, cuts: Sequence[Fraction]) -> list[tuple[Fraction, Fraction]]:
    inner = [at for at in cuts if span.onset < at < span.end]
    return list(pairwise([span.onset, *inner, span.end]))


def _in_tuplet(tuplet: Tuplet, low: Fraction, high: Fraction, index: int | None) -> list[Written]:
    scale = Fraction(tuplet.normal, tuplet.actual)
    grid = tuplet.length / tuplet.actual
    count = int((high - low) / grid)
    out: list[Written] = []
    at = low
    while count:
        best = next(
            n for n in range(count, 0, -1)
            if (value := _value_or_none(n * tuplet.unit)) and value[1] <= 1
        )  # fmt: skip
        out.append(Written(at, best * grid, best * grid / scale, index, tuplet))
        at += best * grid
        count -= best
    return out


def _split(
    meter: Meter, low: Fraction, high: Fraction, *, rest: bool
) -> list[tuple[Fraction, Fraction]]:
    """Onsets and lengths of the values that write what lasts from `low` to `high`."""
    if low % _SHORTEST or high % _SHORTEST:
        raise ValueError(f"{low}–{high} cannot be written without a tuplet")
    return _split_in(_bar_node(meter), meter, low, high, rest)


def _split_in(
    node: _Node, meter: Meter, low: Fraction, high: Fraction, rest: bool
) -> list[tuple[Fraction, Fraction]]:
    length = high - low
    for child in _children(node, meter):
        if child.start <= low and high <= child.end and child.length < node.length:
            return _split_in(child, meter, low, high, rest)
    value = _value_or_none(length)
    if value is not None and _reads_well(node, meter, low, high, value[1], rest):
        return [(low, length)]
    inner = [child.start for child in _children(node, meter)[1:] if low < child.start < high]
    bounds = _merged(node, meter, [low, *inner, high], rest)
    out: list[tuple[Fraction, Fraction]] = []
    for start, end in pairwise(bounds):
        if (start, end) == (low, high):
            start_cut = inner[0]
            out += _split_in(node, meter, low, start_cut, rest)
            out += _split_in(node, meter, start_cut, high, rest)
        else:
            out += _split_in(node, meter, start, end, rest)
    return out


def _merged(node: _Node, meter: Meter, bounds: list[Fraction], rest: bool) -> list[Fraction]:
    """Drop cuts between whole children where the two together are one good value."""
    starts = {child.start for child in _children(node, meter)} | {node.end}
    at = 1
    while at < len(bounds) - 1:
        low, high = bounds[at - 1], bounds[at + 1]
        value = _value_or_none(high - low)
        whole = low in starts and high in starts and len(bounds) > 3
        if value and whole and _reads_well(node, meter, low, high, value[1], rest):
            bounds = bounds[:at] + bounds[at + 1 :]
        else:
            at += 1
    return bounds


def _reads_well(
    node: _Node, meter: Meter, low: Fraction, high: Fraction, dots: int, rest: bool
) -> bool:
    """Whether a value that crosses a division of `node` still shows the beat."""
    children = _children(node, meter)
    starts = {child.start for child in children} | {node.end}
    from_start = low == node.start
    to_end = high == node.end
    if dots > 1 and node.level < 3:
        return False
    if from_start and to_end:
        return not (rest and dots and not meter.compound and node.level < 3)
    if rest:
        if meter.compound and node.level >= 2:
            return from_start and dots == 0
        return False
    if len(children) > 2 and low in starts and high in starts:
        return True
    if from_start:
        even = not meter.compound and len(set(meter.groups)) == 1
        return even or node.level > 1 or high in meter.group_starts
    if node.level >= 3:
        return to_end or _syncopated(children, low, high)
    if node.level == 0:
        return False
    return _syncopated(children, low, high)


def _syncopated(children: tuple[_Node, ...], low: Fraction, high: Fraction) -> bool:
    """A value as long as a beat, from the middle of one to the middle of the next."""
    for first, second in pairwise(children):
        if (
            first.length == second.length
            and low == first.start + first.length / 2
            and high == second.start + second.length / 2
        ):
            return True
    return False
