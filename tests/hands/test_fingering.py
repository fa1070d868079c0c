"""Fingers of whole parts: standard fingerings, sameness, reach."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.hands import cheapest_fingering, finger_numbers
from engine.key import Key
from engine.part import PartNote, Role
from engine.pitch import Pitch
from engine.song import Hand, Song, read_song

C_MAJOR = Key.parse("C major")


def song(chart: str, reach: str = "octave") -> Song:
    return read_song(
        f'format = 1\ntitle = "Trial"\nkey = "C major"\nmeter = "4/4"\ntempo = 80\n'
        f'reach = "{reach}"\n[[section]]\nname = "A"\nchart = """\n{chart}\n"""\n'
    )


def note(midi: int, onset: Fraction, hand: Hand, role: Role = Role.CHORD) -> PartNote:
    spelled = C_MAJOR.spell(midi % 12)
    return PartNote(
        int(onset) + 1, hand, Pitch.at_or_above(spelled, midi), onset, Fraction(1, 8), role
    )


def line(midis: list[int], hand: Hand, start: int = 0) -> list[PartNote]:
    """Single notes that fill one bar evenly."""
    return [note(midi, start + Fraction(n, len(midis)), hand) for n, midi in enumerate(midis)]


def fingers(midis: list[int], hand: Hand, reach: str = "octave") -> str:
    notes = line(midis, hand)
    return "".join(str(n) for n in finger_numbers(notes, song("| C |", reach)))


def arpeggio(root: int, gaps: tuple[int, int] = (4, 3), octaves: int = 2) -> list[int]:
    up = [
        root + 12 * octave + step for octave in range(octaves) for step in (0, gaps[0], sum(gaps))
    ]
    return [*up, root + 12 * octaves]


MAJOR, MINOR = (4, 3), (3, 4)
#: Two octaves up from the root, as scale manuals finger them.
STANDARD = [
    # The practice of scale manuals. Manuals agree on these; no single one is the source.
    (Hand.RIGHT, "C D E F G A B F#", MAJOR, "1231235"),
    (Hand.RIGHT, "Eb Ab Db Bb", MAJOR, "2124124"),
    (Hand.RIGHT, "A G", MINOR, "1231235"),
    (Hand.RIGHT, "F#", MINOR, "2124124"),
    (Hand.LEFT, "C F G", MAJOR, "5421421"),
    (Hand.LEFT, "D E A B F#", MAJOR, "5321321"),
    (Hand.LEFT, "Eb Ab Db", MAJOR, "2142142"),
    (Hand.LEFT, "Bb", MAJOR, "3213213"),
    (Hand.LEFT, "A", MINOR, "5421421"),
]
ROWS = [
    (hand, key, gaps, expected) for hand, keys, gaps, expected in STANDARD for key in keys.split()
]


@pytest.mark.parametrize(("hand", "key", "gaps", "expected"), ROWS)
def test_arpeggios_take_the_fingers_of_the_scale_manuals(
    hand: Hand, key: str, gaps: tuple[int, int], expected: str
) -> None:
    root = Pitch.parse(f"{key}{4 if hand is Hand.RIGHT else 2}").midi
    assert fingers(arpeggio(root, gaps), hand) == expected
    # Down again, and over three octaves, the same keys keep the same fingers within the run.
    down = arpeggio(root, gaps)[::-1]
    assert fingers(down, hand) == expected[::-1]


def test_the_published_model_alone_agrees_less() -> None:
    """Why there is a layer of standard fingerings over the published cost."""
    agreed = [
        "".join(
            str(n)
            for n in cheapest_fingering(
                arpeggio(Pitch.parse(f"{key}{4 if hand is Hand.RIGHT else 2}").midi, gaps), hand
            )
        )
        == expected
        for hand, key, gaps, expected in ROWS
        if gaps == MAJOR
    ]
    assert len(agreed) == 24
    assert 10 <= sum(agreed) <= 16


@pytest.mark.parametrize(
    ("hand", "expected"),
    # Beringer & Dunhill 1900: four-note broken chords of C, root position and inversions.
    [
        (Hand.RIGHT, ["1235", "1245", "1245", "1235"]),
        (Hand.LEFT, ["5421", "5421", "5321", "5421"]),
    ],
)
def test_four_note_broken_chords(hand: Hand, expected: list[str]) -> None:
    chords = [[60, 64, 67, 72], [64, 67, 72, 76], [67, 72, 76, 79], [72, 76, 79, 84]]
    assert [fingers(chord, hand) for chord in chords] == expected


@pytest.mark.parametrize("order", [(0, 1, 2, 1), (2, 1, 0, 1), (0, 2, 1, 2), (1, 2, 0, 2)])
@pytest.mark.parametrize(
    ("shape", "expected"),
    # Common practice: root position 1-3-5, first inversion 1-2-5, second inversion 1-3-5.
    [((60, 64, 67), "135"), ((64, 67, 72), "125"), ((67, 72, 76), "135"), ((62, 66, 69), "135")],
)
def test_a_shape_has_its_fingers_in_whatever_order_it_is_broken(
    shape: tuple[int, ...], expected: str, order: tuple[int, ...]
) -> None:
    assert fingers([shape[n] for n in order], Hand.RIGHT) == "".join(expected[n] for n in order)


def test_chords_take_the_fingers_of_their_shape() -> None:
    notes = [note(midi, Fraction(0), Hand.RIGHT) for midi in (64, 67, 72)]
    notes += [note(72, Fraction(1, 2), Hand.RIGHT)]
    assert finger_numbers(notes, song("| C |")) == [1, 2, 5, 5]


def test_an_anticipation_has_the_finger_of_the_shape_it_belongs_to() -> None:
    first = line([60, 64, 67, 64], Hand.RIGHT)
    early = note(65, Fraction(7, 8), Hand.RIGHT, Role.ANTICIPATION)
    after = line([60, 65, 69, 65], Hand.RIGHT, start=1)
    found = finger_numbers([*first, early, *after], song("| C | F |"))
    assert found[4] == found[6]
    assert found[:3] == [1, 3, 5]


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    # Common practice: neighbouring keys in a row take different fingers; the thumb passes under,
    # or a repeated key changes its finger. Broken octaves alone let the thumb slide.
    [
        ([62, 65, 69, 62], [60, 64, 67, 64], "1352 1353"),
        ([64, 67, 71, 64], [65, 69, 72, 69], "1352 1353"),
        ([65, 67, 69, 67, 65, 65, 64, 64], [62, 65, 69, 65], "23432212 1353"),
        ([64, 76, 64, 76, 64, 76, 76, 64], [65, 77, 65, 77], "15151551 1515"),
    ],
)
def test_a_finger_does_not_slide_by_step_into_the_next_shape(
    before: list[int], after: list[int], expected: str
) -> None:
    notes = [*line(before, Hand.RIGHT), *line(after, Hand.RIGHT, start=1)]
    found = "".join(map(str, finger_numbers(notes, song("| C | F |"))))
    assert f"{found[: len(before)]} {found[len(before) :]}" == expected


def test_a_chord_that_comes_early_has_a_finger_for_each_of_its_keys() -> None:
    """A key that both chords share is one of the new shape, and cannot keep its finger."""
    first = [note(midi, Fraction(0), Hand.RIGHT) for midi in (64, 67, 69)]
    roles = ((60, Role.ANTICIPATION), (65, Role.ANTICIPATION), (69, Role.CHORD))
    early = [note(midi, Fraction(7, 8), Hand.RIGHT, role) for midi, role in roles]
    after = line([65, 69], Hand.RIGHT, start=1)
    assert finger_numbers([*first, *early, *after], song("| A7/C# | Dm7 |"))[3:] == [1, 3, 5, 3, 5]


def test_chord_changes_inside_a_bar_change_the_position() -> None:
    notes = line([60, 64, 67, 64, 65, 69, 72, 69], Hand.RIGHT)
    assert finger_numbers(notes, song("| C F |")) == [1, 3, 5, 3, 1, 3, 5, 3]


def test_a_tenth_is_pivoted_by_a_hand_that_cannot_hold_it() -> None:
    small = fingers([48, 55, 64, 55], Hand.LEFT, "octave")
    large = fingers([48, 55, 64, 55], Hand.LEFT, "tenth")
    assert large[0] == "5"
    assert large[2] == "1"
    assert small[0] == "5"
    assert all(a != b for a, b in pairwise(small))


_SHAPES = st.lists(st.integers(0, 12), min_size=1, max_size=6)


@settings(deadline=None, max_examples=60)
@given(_SHAPES, st.integers(-2, 2), st.sampled_from(list(Hand)))
def test_an_octave_away_the_fingers_are_the_same(
    steps: list[int], octaves: int, hand: Hand
) -> None:
    midis = [55 + step for step in steps]
    assert fingers(midis, hand) == fingers([midi + 12 * octaves for midi in midis], hand)


@settings(deadline=None, max_examples=60)
@given(st.lists(_SHAPES, min_size=1, max_size=6), st.sampled_from(list(Hand)))
def test_every_note_has_a_finger(bars: list[list[int]], hand: Hand) -> None:
    notes = [
        note_
        for start, steps in enumerate(bars)
        for note_ in line([50 + step for step in steps], hand, start)
    ]
    found = finger_numbers(notes, song("| C " * len(bars) + "|"))
    assert [number in (1, 2, 3, 4, 5) for number in found] == [True] * len(notes)


@settings(deadline=None, max_examples=60)
@given(st.sets(st.integers(0, 12), min_size=2, max_size=5), st.sampled_from(list(Hand)))
def test_notes_struck_together_take_fingers_in_their_order(steps: set[int], hand: Hand) -> None:
    notes = [note(55 + step, Fraction(0), hand) for step in sorted(steps)]
    found = finger_numbers(notes, song("| C |"))
    assert found == sorted(set(found), reverse=hand is Hand.LEFT)


def test_a_repeated_figure_repeats_its_fingers() -> None:
    figure = [60, 64, 67, 69, 67, 64]
    notes = [
        n for bar in range(4) for n in line([m + (0, 5)[bar % 2] for m in figure], Hand.RIGHT, bar)
    ]
    found = finger_numbers(notes, song("| C | F | C | F |"))
    assert found[:12] == found[12:]
