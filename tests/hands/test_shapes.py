"""Shapes and voice leading against published sizes and the laws of the hand."""

from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.chord import parse_chord
from engine.hands import (
    choose_shapes,
    leading_size,
    least_bass,
    low_limits,
    movement,
    muddy,
    shapes,
    tones_of,
)
from engine.hands.tones import Tones
from engine.harmony import read_chord
from engine.key import Key
from engine.pitch import Note

# Tymoczko 2006, Science 313:72 (Cmaj7 to Emaj7); the rest measured with the same method.
SIZES = """
Cmaj7 Emaj7 3 | C F 3 | C G 3 | C Eb 3 | C A 3 | C E 2 | C Ab 2 | C F# 6 | C Bb 6 | C D 6
C Cm 1 | C Em 1 | C Am 2 | C Fm 2 | C Abm 3 | Dm7 G7 3 | G7 Cmaj7 3 | Db7 Cmaj7 3 | G7 Db7 2
Bm7b5 G7 2 | Bdim7 G7 1
"""
ROWS = [row.split() for row in SIZES.replace("\n", "|").split("|") if row.strip()]


@pytest.mark.parametrize(("first", "second", "size"), ROWS)
def test_voice_leading_sizes_are_the_published_ones(first: str, second: str, size: str) -> None:
    pcs = [parse_chord(symbol).pitch_classes for symbol in (first, second)]
    assert leading_size(*pcs) == int(size)
    assert leading_size(*reversed(pcs)) == int(size)


def _tones(symbol: str, key: str = "C major") -> Tones:
    return tones_of(read_chord(parse_chord(symbol), Key.parse(key)))


@pytest.mark.parametrize("symbol", ["E7/G#", "A7/C#", "F7/C", "Bm/A", "Am7/C", "Cmaj7/E"])
def test_the_root_of_an_inverted_chord_is_in_the_shape(symbol: str) -> None:
    """Common practice: over another bass than the root the hand above has the root."""
    tones = _tones(symbol)
    found = shapes(tones, 55, 79).shapes
    assert all(any(pitch % 12 == tones.root for pitch in shape) for shape in found)
    over_foreign = shapes(_tones("Dm7/G"), 55, 79).shapes
    assert any({pitch % 12 for pitch in shape} == {5, 9, 0} for shape in over_foreign)


def test_low_interval_limits_are_those_of_the_glossary() -> None:
    # Low interval limits of arranging glossaries, by semitones from the minor second.
    assert low_limits()[1:] == (52, 51, 48, 47, 45, 35, 37, 41, 41, 41, 41)


def test_a_low_third_is_muddy_and_a_tenth_is_not() -> None:
    assert muddy((36, 40)) == ((36, 40),)
    assert muddy((36, 52)) == ()
    # A fifth's lower note may go down to C sharp 2, a fourth's to A2.
    assert muddy((36, 43, 48)) == ((36, 43), (43, 48))
    assert muddy((38, 45, 50)) == ()


@given(st.lists(st.integers(-12, 24), min_size=2, max_size=5, unique=True))
@settings(deadline=None, max_examples=80)
def test_on_its_least_bass_a_figure_is_clear_and_a_semitone_lower_it_is_not(
    offsets: list[int],
) -> None:
    least = least_bass(tuple(offsets))
    low = [offset + least for offset in offsets]
    if least and max(low) <= 64:
        assert not muddy(low)
        assert muddy([midi - 1 for midi in low])


SYMBOLS = ("C", "Am7", "F", "Dm7", "G7", "E7", "Fm", "Bbmaj7", "C/E", "G/B", "Dm7/C", "C5", "Gsus4",
           "F#m7b5", "Abdim7", "C9", "D13", "Ebaug", "F/G", "C6", "E7#9")  # fmt: skip


@given(st.lists(st.sampled_from(SYMBOLS), min_size=1, max_size=12), st.integers(52, 64))
@settings(deadline=None, max_examples=60)
def test_chosen_shapes_are_members_within_an_octave_in_their_window(
    symbols: list[str], low: int
) -> None:
    stages = [shapes(_tones(symbol), low, low + 18) for symbol in symbols]
    for shape, stage in zip(choose_shapes(stages), stages, strict=True):
        assert shape == tuple(sorted(shape))
        assert shape[-1] - shape[0] <= 12
        assert low <= shape[0]
        assert shape[-1] <= low + 18
        members = {pc for _, pc in stage.tones.members}
        assert {pitch % 12 for pitch in shape} <= members


def _least(stages: Sequence[Sequence[tuple[int, ...]]]) -> int:
    """The least movement over all rows of shapes, by trying each step's best."""
    costs = [0] * len(stages[0])
    for before, after in pairwise(stages):
        costs = [
            min(cost + movement(a, b) for cost, a in zip(costs, before, strict=True)) for b in after
        ]
    return min(costs)


@given(st.lists(st.sampled_from(SYMBOLS), min_size=2, max_size=16))
@settings(deadline=None, max_examples=60)
def test_movement_stays_near_the_least_that_is_possible(symbols: list[str]) -> None:
    stages = [shapes(_tones(symbol), 56, 75) for symbol in symbols]
    chosen = choose_shapes(stages)
    moved = sum(movement(a, b) for a, b in pairwise(chosen))
    least = _least([stage.shapes for stage in stages])
    # Static preferences (which members, which doubling) may cost a few semitones in all.
    assert moved <= 1.15 * least + 8


@pytest.mark.parametrize(
    ("symbol", "offsets"),
    [
        # Common practice: counted upward from the sounding bass.
        ("C/E", (3, 8)), ("C/G", (5, 9)), ("G7/D", (3, 5)), ("C", (4, 7)), ("Csus4", (5, 7)),
        ("Dm7/C", (2, 5)), ("C7", (4, 7)),
    ],
)  # fmt: skip
def test_the_left_hand_counts_members_from_the_sounding_bass(
    symbol: str, offsets: tuple[int, int]
) -> None:
    assert _tones(symbol).above[:2] == offsets


def test_a_leading_note_in_the_bass_is_not_in_the_shape() -> None:
    for shape in choose_shapes([shapes(_tones("G/B"), 55, 74)]):
        assert all(pitch % 12 != 11 for pitch in shape)


@pytest.mark.parametrize(
    ("key", "symbol", "spelled"),
    [
        ("Gb major", "G7", "G B D F"),  # A♭♭7 there, a tritone substitute
        ("Db major", "A7", "A C# E G"),
        ("Gb major", "D", "D F# A"),
        ("Gb major", "Bbb", "Bbb Db Fb"),  # written so
        ("Db major", "Gbm", "Gb Bbb Db"),
        ("G# minor", "Gdim7", "Fx A# C# E"),
    ],
)
def test_hands_read_no_double_flats_under_a_plain_symbol(
    key: str, symbol: str, spelled: str
) -> None:
    tones = _tones(symbol, key)
    names = [Note(tones.fifths[pc]).name for _, pc in tones.members]
    assert sorted(names) == sorted(spelled.split())
