"""The plan of a sitting: hardest first, hands apart before together, short turns, rests."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.hands import BarDifficulty, Difficulty
from engine.part import Part, PartNote, Role
from engine.pitch import Pitch
from engine.song import Hand, Song, read_song
from engine.workshop.plan import cautions, link_span, links, most_minutes, plan, rest_due
from engine.workshop.practice_log import PracticeLog, add_minutes, mark_tempo

DAY = date(2026, 5, 4)


def song(*lengths: int) -> Song:
    """A song with a section of each length in bars."""
    text = 'format = 1\nkey = "C major"\ntempo = 80\n'
    for name, count in zip("ABCDEF", lengths, strict=False):
        chords = " | ".join(("C", "Am", "F", "G7")[bar % 4] for bar in range(count))
        text += f'[[section]]\nname = "{name}"\nchart = "| {chords} |"\n'
    return read_song(text)


def graded(*grades: float) -> Difficulty:
    bars = tuple(
        BarDifficulty(bar, grade, ("a wide stretch",)) for bar, grade in enumerate(grades, 1)
    )
    return Difficulty(3, bars, tuple(sorted(bars, key=lambda each: -each.grade)))


EIGHT = song(4, 4)
HARD = graded(2, 2, 5, 3, 2, 7, 1, 1)


def test_links_are_two_bars_within_their_section() -> None:
    assert links(EIGHT, (1, 8)) == [(1, 2), (3, 4), (5, 6), (7, 8)]
    assert links(song(5, 3, 1), (1, 9)) == [(1, 2), (3, 5), (6, 8), (9, 9)]
    assert links(EIGHT, (2, 5)) == [(2, 4), (5, 5)]


def note(onset: Fraction) -> PartNote:
    return PartNote(1, Hand.RIGHT, Pitch.parse("C4"), onset, Fraction(1, 8), Role.CHORD)


def test_a_link_ends_on_the_first_note_of_the_next() -> None:
    part = Part(tuple(note(Fraction(n, 8)) for n in range(64)), (), (), (), ())
    assert link_span(EIGHT, part, (1, 2)) == (Fraction(0), Fraction(2 + Fraction(1, 8)))
    assert link_span(EIGHT, part, (7, 8)) == (Fraction(6), Fraction(8))
    sparse = Part((note(Fraction(0)), note(Fraction(2)), note(Fraction(3))), (), (), (), ())
    assert link_span(EIGHT, sparse, (1, 2)) == (Fraction(0), Fraction(2 + Fraction(1, 4)))
    silent = Part((note(Fraction(0)), note(Fraction(5, 2))), (), (), (), ())
    assert link_span(EIGHT, silent, (1, 2)) == (Fraction(0), Fraction(2))


def test_the_hardest_links_come_first_hands_apart_before_together() -> None:
    blocks = plan(EIGHT, HARD, PracticeLog(), minutes=21)
    assert [(block.bars, block.hands) for block in blocks] == [
        ((5, 6), "right"),
        ((5, 6), "left"),
        ((3, 4), "right"),
        ((5, 6), "both"),
        ((3, 4), "left"),
        ((3, 4), "both"),
        ((1, 8), "both"),
    ]
    assert blocks[0].why == "bar 6: a wide stretch"
    assert {block.minutes for block in blocks} == {3}  # Carter & Grahn 2016
    assert (blocks[0].tempo, blocks[0].goal) == (40, 80)


def test_a_hand_alone_is_told_what_is_hard_for_it() -> None:
    reasons = ("a jump of an octave in the right hand", "a wide stretch in the right hand")
    bars = tuple(BarDifficulty(bar, 3, reasons) for bar in range(1, 5))
    blocks = plan(song(4), Difficulty(3, bars, bars), PracticeLog(), minutes=21)
    told = {block.hands: block.why for block in blocks if block.bars == (1, 2)}
    assert told["right"] == told["both"] == "bar 1: a jump of an octave in the right hand"
    assert told["left"] == "alone, before both together"


def test_it_goes_on_from_the_clean_tempo_and_leaves_out_what_is_clean() -> None:
    log = mark_tempo(PracticeLog(), EIGHT, (5, 6), "right", 80, day=DAY)
    log = mark_tempo(log, EIGHT, (5, 6), "left", 60, day=DAY)
    log = mark_tempo(log, EIGHT, (3, 4), "both", 80, day=DAY)
    blocks = plan(EIGHT, HARD, log, minutes=21)
    first = blocks[0]
    assert (first.bars, first.hands, first.tempo) == ((5, 6), "left", 64)
    assert ("right", (5, 6)) not in {(block.hands, block.bars) for block in blocks}
    assert all(block.bars != (3, 4) for block in blocks)


def test_a_section_alone_can_be_planned() -> None:
    blocks = plan(EIGHT, HARD, PracticeLog(), bars=(1, 4), minutes=12)
    assert {block.bars for block in blocks} == {(3, 4), (1, 4)}


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.integers(1, 6), min_size=1, max_size=4),
    st.integers(1, 90),
    st.lists(st.floats(1, 9), min_size=24, max_size=24),
)
def test_the_law_of_the_plan(lengths: list[int], minutes: int, grades: list[float]) -> None:
    """It fits the time, tempos are in order, links take turns, rests come in time."""
    piece = song(*lengths)
    blocks = plan(piece, graded(*grades[: len(piece.bars)]), PracticeLog(), minutes=minutes)
    assert blocks
    assert sum(block.minutes for block in blocks) <= max(3, minutes)
    played = 0
    for block in blocks:
        assert 0 < block.tempo <= block.goal
        played += block.minutes
        assert played <= 25  # five minutes off in every half hour (BAPAM)
        played = 0 if block.rest else played
    if len({block.bars for block in blocks[:-1]}) > 2 and len(blocks) > 9:
        assert all(a.bars != b.bars for a, b in pairwise(blocks[3:-4]))


def test_care_is_taken_as_published() -> None:
    """BAPAM: rest in every half hour, at most ten minutes more a day, stop at pain."""
    assert not rest_due(24)
    assert rest_due(25)
    log = add_minutes(add_minutes(PracticeLog(), 20, date(2026, 5, 2)), 35, date(2026, 5, 3))
    assert most_minutes(log, DAY) == 45
    assert most_minutes(PracticeLog(), DAY) is None
    texts = " ".join(cautions())
    for word in ("half hour", "pain", "ten minutes", "80 dB", "teacher"):
        assert word in texts


@pytest.mark.parametrize("minutes", [3, 5])
def test_a_short_sitting_is_one_block(minutes: int) -> None:
    assert [block.bars for block in plan(EIGHT, HARD, PracticeLog(), minutes=minutes)] == [(5, 6)]
