"""The published cost of a fingering: Parncutt et al. 1997, and the cheapest fingering by it.

Everything is written for the right hand. `keys` are MIDI numbers for the right
hand and their negatives for the left, so that a greater number is always
further from the thumb; whether a key is black is told beside it.

Source: Parncutt, Sloboda, Clarke, Raekallio & Desain 1997, "An ergonomic model of
keyboard fingering for melodic fragments", Music Perception 14(4). Spans beyond
the practical are dear, not forbidden: standard arpeggios need one (third finger
to thumb over a fourth).
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise
from typing import NamedTuple

import shared
from engine.song import Hand

_BLACK = frozenset({1, 3, 6, 8, 10})
_NEVER = 1_000_000
_DEAREST = 40
_FINGERS = (1, 2, 3, 4, 5)

Points = Iterator[tuple[str, int]]


class Span(NamedTuple):
    """Semitones between two fingers: practical, comfortable and relaxed limits."""

    min_prac: int
    min_comf: int
    min_rel: int
    max_rel: int
    max_comf: int
    max_prac: int


@dataclass(frozen=True, slots=True)
class Model:
    """Spans for every ordered pair of fingers, and each rule's points by name."""

    spans: Mapping[tuple[int, int], Span]
    points: Mapping[str, tuple[int, ...]]


@cache
def model() -> Model:
    """The published model."""
    data = tomllib.loads(shared.text("tables", "fingering.toml"))
    spans = {(finger, finger): Span(0, 0, 0, 0, 0, 0) for finger in _FINGERS}
    for pair, limits in data["spans"].items():
        low, high = int(pair[0]), int(pair[2])
        spans[low, high] = Span(*limits)
        spans[high, low] = Span(*(-limit for limit in reversed(limits)))
    return Model(spans, {name: tuple(rule["points"]) for name, rule in data["rules"].items()})


def is_black(midi: int) -> bool:
    """Whether a key is black."""
    return midi % 12 in _BLACK


def in_reach(keys: Sequence[int], fingers: Sequence[int]) -> bool:
    """Whether each step of a line is within its two fingers' practical span."""
    spans = model().spans
    return all(
        spans[one, two].min_prac <= high - low <= spans[one, two].max_prac
        for (low, high), (one, two) in zip(pairwise(keys), pairwise(fingers), strict=True)
    )


def keys_of(midis: Sequence[int], hand: Hand) -> tuple[tuple[int, ...], tuple[bool, ...]]:
    """MIDI numbers as keys counted away from the thumb, and which of them are black."""
    sign = -1 if hand is Hand.LEFT else 1
    return tuple(sign * midi for midi in midis), tuple(is_black(midi) for midi in midis)


def published_costs(midis: Sequence[int], fingers: Sequence[int], hand: Hand) -> dict[str, int]:
    """Points of each of the twelve rules, by name, for a fingered line of single notes."""
    keys, black = keys_of(midis, hand)
    found = dict.fromkeys(model().points, 0)
    for index in range(len(keys)):
        for rule, points in _note_points(fingers[index], black[index]):
            found[rule] += points
        if index:
            pair = (fingers[index - 1], fingers[index])
            size = keys[index] - keys[index - 1]
            for rule, points in _pair_points(*pair, size, black[index - 1], black[index]):
                found[rule] += points
        if index > 1:
            low, middle, high = keys[index - 2 : index + 1]
            between = (middle - low) * (high - middle) > 0
            one, two, three = fingers[index - 2 : index + 1]
            for rule, points in _triple_points(one, two, three, high - low, between):
                found[rule] += points
    return found


def published_total(midis: Sequence[int], fingers: Sequence[int], hand: Hand) -> int:
    """The sum of all rules for a fingered line of single notes."""
    return sum(published_costs(midis, fingers, hand).values())


def cheapest_fingering(midis: Sequence[int], hand: Hand) -> tuple[int, ...]:
    """The fingering of a line of single notes with the least published total.

    Different keys in a row take different fingers. Of equal fingerings the one
    that comes first in the order of its fingers, read from the end.
    """
    return cheapest_keys(*keys_of(midis, hand))


def cheapest_keys(
    keys: Sequence[int],
    black: Sequence[bool],
    first: int | None = None,
    last: int | None = None,
) -> tuple[int, ...]:
    """The cheapest fingers for keys counted away from the thumb, the end fingers given or free."""
    if not keys:
        return ()
    costs = LineCosts(keys, black)
    starts = [_NEVER if first not in (None, finger) else 0 for finger in _FINGERS]
    ends = [_NEVER if last not in (None, finger) else 0 for finger in _FINGERS]
    single = [starts[f] + costs.first[f] for f in range(5)]
    if len(keys) == 1:
        totals = [single[f] + ends[f] for f in range(5)]
        return (totals.index(min(totals)) + 1,)
    best = [single[state // 5] + costs.pairs[0][state] for state in range(25)]
    back: list[list[int]] = []
    for pairs, triples in zip(costs.pairs[1:], costs.triples, strict=True):
        after, sources = [], []
        for middle in range(5):
            p0, p1, p2, p3, p4 = best[middle::5]
            for final in range(5):
                state = middle * 5 + final
                ways = [
                    p0 + triples[state],
                    p1 + triples[25 + state],
                    p2 + triples[50 + state],
                    p3 + triples[75 + state],
                    p4 + triples[100 + state],
                ]
                least = min(ways)
                after.append(least + pairs[state])
                sources.append(ways.index(least))
        best = after
        back.append(sources)
    best = [best[state] + ends[state % 5] for state in range(25)]
    state = best.index(min(best))
    path = [state % 5 + 1, state // 5 + 1]
    for sources in reversed(back):
        state = sources[state] * 5 + state // 5
        path.append(state // 5 + 1)
    return tuple(reversed(path))


def _note_points(finger: int, black: bool) -> Points:
    points = model().points
    if finger >= 4:
        yield "weak_finger", points["weak_finger"][0]
    if finger == 1 and black:
        yield "thumb_on_black", points["thumb_on_black"][0]


def _pair_points(one: int, two: int, size: int, black_one: bool, black_two: bool) -> Points:
    yield from _span_points(one, two, size)
    points = model().points
    if (one, two) == (3, 4):
        yield "three_to_four", points["three_to_four"][0]
    black = {one: black_one, two: black_two}
    if {one, two} == {3, 4} and black[4] and not black[3]:
        yield "four_on_black", points["four_on_black"][0]
    for finger, own, other in ((one, black_one, black_two), (two, black_two, black_one)):
        if own and not other:
            if finger == 1:
                yield "thumb_on_black", points["thumb_on_black"][1]
            if finger == 5:
                yield "five_on_black", points["five_on_black"][0]
    passes = (one == 1 != two and size < 0) or (two == 1 != one and size > 0)
    if passes:
        if black_one == black_two:
            yield "thumb_pass", points["thumb_pass"][0]
        elif black[1]:
            yield "thumb_pass", points["thumb_pass"][1]


def _span_points(one: int, two: int, size: int) -> Points:
    """Rules 1 to 3, with a descending pair turned into the ascending one."""
    points, span = model().points, model().spans[min(one, two), max(one, two)]
    apart = size if one <= two else -size
    weight = 0 if 1 in (one, two) else 1
    outside = max(apart - span.max_comf, span.min_comf - apart)
    if outside > 0:
        yield "stretch", points["stretch"][0] * outside
    if apart < span.min_rel:
        yield "small_span", points["small_span"][weight] * (span.min_rel - apart)
    if apart > span.max_rel:
        yield "large_span", points["large_span"][weight] * (apart - span.max_rel)


def _triple_points(one: int, two: int, three: int, size: int, between: bool) -> Points:
    """`size` from the first note to the third, `between` whether the second lies between."""
    points, span = model().points, model().spans[one, three]
    outside = max(size - span.max_comf, span.min_comf - size)
    if outside > 0:
        beyond = not span.min_prac <= size <= span.max_prac
        full = two == 1 and between and beyond
        yield "position_change", points["position_change"][1 if full else 0]
        yield "change_size", points["change_size"][0] * outside
    if {one, two, three} == {3, 4, 5}:
        yield "three_four_five", points["three_four_five"][0]


def _clip(size: int) -> int:
    """Beyond three octaves further is no dearer, so that the tables stay small."""
    return max(-36, min(36, size))


def _note_total(finger: int, black: bool) -> int:
    return sum(points for _, points in _note_points(finger, black))


@lru_cache(maxsize=512)
def _pair_totals(size: int, black_one: bool, black_two: bool) -> list[int]:
    """What the second note of a pair adds, for fingers (one, two) at 5·(one-1) + two-1."""
    return [
        _NEVER
        if one == two and size
        else _note_total(two, black_two)
        + sum(points for _, points in _pair_points(one, two, size, black_one, black_two))
        for one in _FINGERS
        for two in _FINGERS
    ]


@lru_cache(maxsize=256)
def _triple_totals(size: int, between: bool) -> list[int]:
    """What three notes add beside their pairs, at 25·(one-1) + 5·(two-1) + three-1."""
    return [
        sum(points for _, points in _triple_points(one, two, three, size, between))
        for one in _FINGERS
        for two in _FINGERS
        for three in _FINGERS
    ]


class LineCosts:
    """What each note of a line adds to the published total.

    Fingers are told as states: 5·(one-1) + two-1 for the note before and the note
    itself. `first` has what each finger costs on the first note, `pairs` what each
    later note adds by state, `triples` what each note from the third on adds beside,
    at 5·state + three-1.
    """

    __slots__ = ("first", "pairs", "triples")

    def __init__(self, keys: Sequence[int], black: Sequence[bool]) -> None:
        self.first = [_note_total(finger, black[0]) for finger in _FINGERS]
        sizes = [high - low for low, high in pairwise(keys)]
        self.pairs = [
            _pair_totals(_clip(size), black[at], black[at + 1]) for at, size in enumerate(sizes)
        ]
        self.triples = [
            _triple_totals(_clip(one + two), one * two > 0) for one, two in pairwise(sizes)
        ]

    def added(self, at: int, state: int, finger: int) -> int:
        """What the note at `at` adds with a finger 1–5, after the state of the two before it."""
        if at == 0:
            return self.first[finger - 1]
        pair = self.pairs[at - 1][state % 5 * 5 + finger - 1]
        return pair + self.triples[at - 2][5 * state + finger - 1] if at > 1 else pair

    def to_go(self) -> list[list[int]]:
        """For each note but the first, by state, the least that all later notes add."""
        rest = [0] * 25
        found = [rest]
        for pairs, triples in zip(self.pairs[:0:-1], self.triples[::-1], strict=True):
            step = [pairs[state] + rest[state] for state in range(25)]
            rest = [
                min(triples[5 * state + then] + step[state % 5 * 5 + then] for then in range(5))
                for state in range(25)
            ]
            found.append(rest)
        return found[::-1]

    def total(self, fingers: Sequence[int]) -> int:
        """The published total of the line with these fingers.

        As `published_total`, from tables: a finger that strikes two keys in a row
        counts as the dearest move there is.
        """
        total = state = 0
        for at, finger in enumerate(fingers):
            total += min(_DEAREST, self.added(at, state, finger))
            state = state % 5 * 5 + finger - 1
        return total


def line_total(keys: Sequence[int], black: Sequence[bool], fingers: Sequence[int]) -> int:
    """The total of a fingered line of keys counted away from the thumb."""
    return LineCosts(keys, black).total(fingers)
