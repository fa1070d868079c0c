"""The published fingering cost: Parncutt, Sloboda, Clarke, Raekallio & Desain 1997.

"An ergonomic model of keyboard fingering for melodic fragments", Music Perception
14(4): totals of the worked fingerings there. Others printed in the same tables differ by one
from the rules as published and are left out.
"""

from __future__ import annotations

from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.hands import cheapest_fingering, published_costs, published_total
from engine.hands.fingering_cost import is_black, keys_of, line_total, model
from engine.song import Hand

FRAGMENTS = [
    ("64 67 65 67 64 65 62 64", "24342313", 6),
    ("64 67 65 67 64 65 62 64", "13231213", 7),
    ("64 67 65 67 64 65 62 64", "14342313", 8),
    ("64 67 65 67 64 65 62 64", "35453423", 8),
    ("61 65 63 66 65 68 66", "1323132", 12),
    ("61 65 63 66 65 68 66", "2412132", 13),
    ("61 65 63 66 65 68 66", "1212132", 14),
    ("61 65 63 66 65 68 66", "2435132", 15),
    ("55 58 62 58 67 62", "124251", 17),
    ("78 79 78 76 78 76 74", "3432321", 2),
    ("78 79 78 76 78 76 74", "2321321", 3),
]


def _numbers(text: str) -> list[int]:
    return [int(number) for number in (text.split() if " " in text else text)]


@pytest.mark.parametrize(("line", "fingers", "total"), FRAGMENTS)
def test_published_totals(line: str, fingers: str, total: int) -> None:
    assert published_total(_numbers(line), _numbers(fingers), Hand.RIGHT) == total


def test_published_rule_totals_of_the_broken_chord() -> None:
    # The same source gives this fragment's points rule by rule: 2+2+6+2+3+2.
    costs = published_costs(_numbers("55 58 62 58 67 62"), _numbers("124251"), Hand.RIGHT)
    assert [points for points in costs.values() if points] == [2, 2, 6, 2, 3, 2]


@pytest.mark.parametrize(("line", "fingers", "total"), FRAGMENTS)
def test_the_left_hand_is_the_mirror_of_the_right(line: str, fingers: str, total: int) -> None:
    # Mirroring about D (or A flat) keeps the colours of the keys: 62 + (62 - midi).
    mirrored = [124 - midi for midi in _numbers(line)]
    assert published_total(mirrored, _numbers(fingers), Hand.LEFT) == total


@pytest.mark.parametrize(
    ("pair", "span"),
    [
        # Table 2 of the source, printed for ascending pairs.
        ((1, 2), (-5, -3, 1, 5, 8, 10)),
        ((1, 5), (-1, 1, 7, 10, 13, 15)),
        ((3, 4), (1, 1, 1, 2, 2, 4)),
        # Descending pairs are reversed and negated there.
        ((5, 1), (-15, -13, -10, -7, -1, 1)),
    ],
)
def test_spans(pair: tuple[int, int], span: tuple[int, ...]) -> None:
    assert model().spans[pair] == span


_LINES = st.lists(st.integers(48, 76), min_size=1, max_size=5)
_HANDS = st.sampled_from(list(Hand))


@settings(deadline=None, max_examples=40)
@given(_LINES, _HANDS)
def test_the_search_finds_the_least_total(line: list[int], hand: Hand) -> None:
    """No fingering with a new finger for each new key costs less than the one found."""
    lawful = (
        fingers
        for fingers in product((1, 2, 3, 4, 5), repeat=len(line))
        if all(
            one[0] == two[0] or one[1] != two[1]
            for one, two in pairwise(zip(line, fingers, strict=True))
        )
    )
    least = min(published_total(line, fingers, hand) for fingers in lawful)
    assert published_total(line, cheapest_fingering(line, hand), hand) == least


@settings(deadline=None, max_examples=40)
@given(st.lists(st.integers(30, 90), min_size=1, max_size=12), _HANDS, st.data())
def test_the_tables_say_what_the_rules_say(
    line: list[int], hand: Hand, data: st.DataObject
) -> None:
    """The totals the search adds up are the published ones."""
    fingers = [data.draw(st.integers(1, 5))]
    for one, two in pairwise(line):
        fingers.append(
            data.draw(st.sampled_from([f for f in range(1, 6) if f != fingers[-1] or one == two]))
        )
    if max(abs(a - b) for a in line for b in line) > 36:
        return  # beyond three octaves the tables stop growing
    keys, black = keys_of(line, hand)
    published = published_total(line, fingers, hand)
    assert line_total(keys, black, fingers) <= published
    steps = [published_total(line[: n + 1], fingers[: n + 1], hand) for n in range(len(line))]
    if all(b - a <= 40 for a, b in pairwise([0, *steps])):
        assert line_total(keys, black, fingers) == published


def test_black_keys() -> None:
    assert [midi for midi in range(60, 72) if is_black(midi)] == [61, 63, 66, 68, 70]
