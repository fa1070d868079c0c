"""The grade of bars and pieces: what makes a part harder, and what is named for it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.figures import catalogue, fit
from engine.figures.value import Figure
from engine.hands import difficulty
from engine.key import Key
from engine.part import PartNote, Role
from engine.pitch import Pitch
from engine.song import Hand, Song, read_song

RIGHT = {"1": 60, "2": 64, "3": 67, "4": 72, "n": 69, "9": 62, "s": 65, "p": 71, "A": 69}
LEFT = {"R": 36, "3": 40, "5": 43, "7": 46, "8": 48, "9": 50, "10": 52, "5-": 31, "p": 38}


F = Fraction


def song(meter: str = "4/4", tempo: float = 80, bars: int = 2, reach: str = "octave") -> Song:
    return read_song(
        f'format = 1\ntitle = "Trial"\nkey = "C major"\nmeter = "{meter}"\ntempo = {tempo}\n'
        f'reach = "{reach}"\n[[section]]\nname = "A"\nchart = "{"| C " * bars}|"\n'
    )


def note(
    midi: int, onset: Fraction, length: Fraction, hand: Hand, bar: int, role: Role = Role.CHORD
) -> PartNote:
    pitch = Pitch.at_or_above(Key.parse("C major").spell(midi % 12), midi)
    return PartNote(bar, hand, pitch, onset, length, role)


def played(figure: Figure, on: Song) -> list[PartNote]:
    """A figure on a C major chord, bar by bar."""
    bar, slots, found = on.meter.bar, fit(figure, on.meter).slots, []
    width = bar / len(slots)
    pitches = LEFT if figure.hand is Hand.LEFT else RIGHT
    for number in range(len(on.bars)):
        for at, slot in enumerate(slots):
            found += [
                note(pitches[token], number * bar + at * width, width, figure.hand, number + 1)
                for token in slot.tokens
            ]
    return found


def _ranks(values: list[float]) -> list[float]:
    order = sorted(values)
    return [(order.index(v) + len(order) - 1 - order[::-1].index(v)) / 2 for v in values]


def test_the_catalogues_figures_come_in_the_order_of_their_own_difficulty() -> None:
    # Teachers' difficulty 1-5 of each figure (common practice), against the grade computed at the
    # middle of its tempo range. Spearman's rank correlation.
    own, found = [], []
    for figure in catalogue():
        assert figure.meter is not None
        on = song(figure.meter.name, (figure.slowest + figure.fastest) / 2)
        own.append(float(figure.difficulty))
        found.append(difficulty(played(figure, on), on).bars[0].grade)
    a, b = _ranks(own), _ranks(found)
    middle = (len(a) - 1) / 2
    both = sum((x - middle) * (y - middle) for x, y in zip(a, b, strict=True))
    spread = (sum((x - middle) ** 2 for x in a) * sum((y - middle) ** 2 for y in b)) ** 0.5
    assert len(own) > 40
    assert both / spread > 0.55


@settings(deadline=None, max_examples=50)
@given(st.sampled_from(catalogue()), st.floats(40, 120), st.floats(1.05, 2))
def test_faster_is_never_easier(figure: Figure, tempo: float, factor: float) -> None:
    meter = figure.meter.name if figure.meter else "4/4"
    slow, fast = song(meter, tempo), song(meter, tempo * factor)
    notes = played(figure, slow)
    assert difficulty(notes, slow).bars[0].grade <= difficulty(notes, fast).bars[0].grade


@settings(deadline=None, max_examples=50)
@given(st.sampled_from(catalogue()), st.sampled_from(catalogue()))
def test_two_hands_are_never_easier_than_one(one: Figure, other: Figure) -> None:
    figures = [figure for figure in (one, other) if figure.hand is Hand.LEFT][:1]
    figures += [figure for figure in (one, other) if figure.hand is Hand.RIGHT][:1]
    on = song()
    parts = [played(figure, on) for figure in figures]
    together = sorted((n for part in parts for n in part), key=lambda n: (n.onset, n.pitch.midi))
    grade = difficulty(together, on).bars[0].grade
    assert all(difficulty(part, on).bars[0].grade <= grade for part in parts)


def test_grades_lie_between_one_and_nine() -> None:
    on = song(tempo=300, bars=1)
    wild = [
        note(midi, F(n, 32), F(1, 32), hand, 1)
        for n in range(32)
        for hand, low in ((Hand.LEFT, 30), (Hand.RIGHT, 66))
        for midi in (low + 7 * n % 18, low + 17 + 5 * n % 9)
    ]
    assert 8 < difficulty(wild, on).bars[0].grade <= 9
    assert difficulty((), on).grade == 1
    assert difficulty((), on).hardest == ()


def test_the_hardest_bar_is_named_with_its_reason() -> None:
    on = song(bars=4)
    calm = played(catalogue()[0], on)
    stride = [
        note(midi, 2 + F(n, 8), F(1, 8), Hand.LEFT, 3)
        for n, midi in enumerate([31, 55, 33, 57, 29, 53, 31, 55])
    ]
    notes = sorted([n for n in calm if n.bar != 3] + stride, key=lambda n: n.onset)
    found = difficulty(notes, on)
    assert found.hardest[0].bar == 3
    assert "a jump of" in found.hardest[0].reasons[0]
    assert found.bars[0].grade < found.bars[2].grade


def test_a_tenth_is_harder_for_the_smaller_hand() -> None:
    small, large = song(), song(reach="tenth")
    notes = [note(midi, F(0), F(1), Hand.LEFT, 1) for midi in (36, 52)]
    assert difficulty(notes, large).bars[0].grade < difficulty(notes, small).bars[0].grade
    assert any(
        "an octave and a major third" in reason
        for reason in difficulty(notes, small).bars[0].reasons
    )


def test_three_against_two_is_named() -> None:
    on = song()
    threes = [note(60, F(n, 12), F(1, 12), Hand.RIGHT, 1) for n in range(12)]
    twos = [note(48, F(n, 8), F(1, 8), Hand.LEFT, 1) for n in range(8)]
    notes = sorted(threes + twos, key=lambda n: (n.onset, n.pitch.midi))
    assert "beats divided by three against two" in difficulty(notes, on).bars[0].reasons
    same = [replace(n, onset=F(i, 8)) for i, n in enumerate(threes[:8])]
    even = sorted(same + twos, key=lambda n: (n.onset, n.pitch.midi))
    assert "beats divided by three against two" not in difficulty(even, on).bars[0].reasons


def test_pushed_beats_cost() -> None:
    on = song(bars=1)
    straight = [note(60, F(n, 4), F(1, 4), Hand.RIGHT, 1) for n in range(4)]
    pushed = [note(60, F(0), F(1, 8), Hand.RIGHT, 1)] + [
        note(60, F(2 * n + 1, 8), F(1, 4), Hand.RIGHT, 1) for n in range(3)
    ]
    assert difficulty(straight, on).bars[0].grade < difficulty(pushed, on).bars[0].grade
