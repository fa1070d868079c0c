"""Note values, ties and tuplets of a bar.

The rules are those of standard practice as taught for piano scores: a note may
cross the middle of the bar only from the bar's beginning; a bar of rest is one
whole-bar rest.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.exchange.rhythm import Span, Written, find_tuplets, note_value, write_bar
from engine.meter import Meter

METERS = ("4/4", "3/4", "2/2", "6/8", "9/8", "12/8", "5/4", "7/8", "2/4")


def spans(*lengths: str) -> list[Span]:
    out, at = [], Fraction(0)
    for n, text in enumerate(lengths):
        length = abs(Fraction(text))
        out.append(Span(at, at + length, None if text.startswith("-") else n))
        at += length
    return out


def shown(meter: str, *lengths: str) -> str:
    return " ".join(
        ("r" if w.index is None else "")
        + w.type
        + "." * w.dots
        + ("~" if w.more else "")
        + (f"({w.tuplet.actual}:{w.tuplet.normal})" if w.tuplet else "")
        for w in write_bar(Meter.parse(meter), spans(*lengths))
    )


@pytest.mark.parametrize(
    ("meter", "lengths", "expected"),
    [
        ("4/4", "1", "whole"),
        ("4/4", "3/4 1/4", "half. quarter"),
        ("4/4", "1/4 1/2 1/4", "quarter quarter~ quarter quarter"),
        ("4/4", "1/4 3/4", "quarter quarter~ half"),
        ("4/4", "1/8 1/4 1/8 1/2", "eighth quarter eighth half"),
        ("4/4", "1/8 3/8 1/2", "eighth eighth~ quarter half"),
        ("4/4", "5/8 3/8", "half~ eighth eighth~ quarter"),
        ("4/4", "-3/4 1/4", "rhalf rquarter quarter"),
        ("4/4", "1/6 1/6 1/6 1/2", "quarter(3:2) quarter(3:2) quarter(3:2) half"),
        ("4/4", "1/12 1/6 3/4", "eighth(3:2) quarter(3:2) quarter~ half"),
        ("3/4", "1/4 1/2", "quarter half"),
        ("3/4", "1/8 5/8", "eighth eighth~ half"),
        ("2/2", "1/4 1/2 1/4", "quarter quarter~ quarter quarter"),
        ("6/8", "3/4", "half."),
        ("6/8", "1/8 5/8", "eighth quarter~ quarter."),
        ("6/8", "1/2 1/4", "quarter.~ eighth quarter"),
        ("6/8", "1/8 1/4 3/8", "eighth quarter quarter."),
        ("9/8", "9/8", "half.~ quarter."),
        ("12/8", "3/2", "whole."),
        ("5/4", "5/4", "half.~ half"),
        ("7/8", "1/4 5/8", "quarter quarter~ quarter."),
        ("3/4", " ".join(["3/28"] * 7), " ".join(["eighth(7:6)"] * 7)),
        ("6/8", "3/40 3/40 3/40 3/40 3/40 3/8", "16th(5:6) " * 5 + "quarter."),
    ],
)
def test_lengths_are_written_as_readers_expect(meter: str, lengths: str, expected: str) -> None:
    assert shown(meter, *lengths.split()) == expected


def test_an_empty_bar_is_one_rest() -> None:
    (only,) = write_bar(Meter.parse("9/8"), spans("-9/8"))
    assert only.whole_bar
    assert only.duration == Fraction(9, 8)


@st.composite
def filled_bars(draw: st.DrawFn) -> tuple[Meter, list[Span]]:
    meter = Meter.parse(draw(st.sampled_from(METERS)))
    beat_slots = draw(st.sampled_from([1, 2, 3, 4, 5, 6, 7, 8]))
    slots = meter.beats * beat_slots if draw(st.booleans()) else beat_slots
    marks = sorted(draw(st.sets(st.integers(1, max(1, slots - 1)), max_size=12)))
    places = [Fraction(0), *(meter.bar * mark / slots for mark in marks if mark < slots), meter.bar]
    rests = draw(st.lists(st.booleans(), min_size=len(places), max_size=len(places)))
    return meter, [
        Span(low, high, None if rests[n] else n) for n, (low, high) in enumerate(pairwise(places))
    ]


@settings(deadline=None, max_examples=300)
@given(filled_bars())
def test_written_values_fill_the_bar_and_mean_what_sounds(bar: tuple[Meter, list[Span]]) -> None:
    """Law: values follow each other without gap; value times its tuplet is the duration."""
    meter, given_spans = bar
    written = write_bar(meter, given_spans)
    at = Fraction(0)
    for item in written:
        assert item.onset == at
        scale = Fraction(item.tuplet.normal, item.tuplet.actual) if item.tuplet else Fraction(1)
        assert item.value * scale == item.duration
        if not item.whole_bar:
            base, dots = note_value(item.value)
            assert item.value == base * (2 - Fraction(1, 2**dots))
        at = item.end
    assert at == meter.bar
    for index, span in enumerate(given_spans):
        own = [item for item in written if item.index == index]
        if span.index is not None:
            assert sum(item.duration for item in own) == span.end - span.onset
            assert [item.goes_on for item in own] == [n > 0 for n in range(len(own))]
            assert [item.more for item in own] == [n < len(own) - 1 for n in range(len(own))]


@settings(deadline=None, max_examples=300)
@given(filled_bars())
def test_the_middle_of_the_bar_shows(bar: tuple[Meter, list[Span]]) -> None:
    """Law: outside tuplets only what begins with the bar crosses its middle."""
    meter, given_spans = bar
    if meter.middle is None:
        return
    for item in write_bar(meter, given_spans):
        if item.tuplet is None and item.onset < meter.middle < item.end:
            assert item.onset == 0


@settings(deadline=None, max_examples=200)
@given(filled_bars())
def test_tuplets_are_filled(bar: tuple[Meter, list[Span]]) -> None:
    """Law: the values inside a tuplet fill it exactly."""
    meter, given_spans = bar
    if all(span.index is None for span in given_spans):
        return
    written = write_bar(meter, given_spans)
    for tuplet in find_tuplets(meter, given_spans):
        inside: list[Written] = [item for item in written if item.tuplet == tuplet]
        assert sum(item.duration for item in inside) == tuplet.length
        assert inside[0].onset == tuplet.start
