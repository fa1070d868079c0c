"""What songs do in a place: neighbours, phrases, a song's ends, the key as it sounds.

Directions, not figures, are checked: the counts are measured (McGill Billboard annotations,
Burgoyne, Wild & Fujinaga, ISMIR 2011); that I begins and ends songs while V ends phrases is
common practice.
"""

from __future__ import annotations

import numpy as np
import pytest

from engine.chord import parse_chord
from engine.key import Key
from engine.reharm import suggest
from engine.reharm.choose import Cover, covering
from engine.reharm.counts import FIRST, LAST, PHRASE
from engine.reharm.families import CLASSES, class_of
from engine.reharm.rank import chances_of
from engine.reharm.site import place_of, site_at
from engine.reharm.style import Place, likelihood
from tests.reharm.songs import song

C = Key.parse("C major")


def _chance(place: Place, symbol: str) -> float:
    return float(likelihood(place)[class_of(parse_chord(symbol), C)])


def _classes(*symbols: str) -> tuple[tuple[int, ...], ...]:
    return tuple((class_of(parse_chord(symbol), C),) for symbol in symbols)


@pytest.mark.parametrize("minor", [False, True])
def test_chances_are_a_distribution(minor: bool) -> None:
    for place in (Place(minor), Place(minor, _classes("F"), _classes("C", "G"), 3)):
        chances = likelihood(place)
        assert chances.shape == (CLASSES,)
        assert np.isclose(chances.sum(), 1)
        assert (chances > 0).all()


def test_neighbours_decide_what_is_likely() -> None:
    """V before I where ii stands before; iv's place between IV and I is rarer than IV's."""
    between = Place(minor=False, before=_classes("Dm"), after=_classes("C"))
    assert _chance(between, "G") > _chance(Place(minor=False), "G")
    assert _chance(between, "G") > _chance(between, "Em")


def test_the_place_in_the_phrase_counts_where_a_neighbour_is_not_known() -> None:
    begins, ends = (Place(minor=False, phrase=bar) for bar in (0, PHRASE - 1))
    assert _chance(begins, "C") > _chance(ends, "C")
    assert _chance(ends, "G") > _chance(begins, "G")
    first, last = (
        likelihood(Place(False, _classes("F"), _classes("C"), phrase)) for phrase in (0, 7)
    )
    assert np.allclose(first, last)


def test_songs_begin_and_end_on_the_tonic_more_than_they_go_through_it() -> None:
    anywhere = Place(minor=False)
    for end in (FIRST, LAST):
        assert _chance(Place(minor=False, end=end), "C") > _chance(anywhere, "C")


def test_a_place_knows_its_phrase_only_in_sections_made_of_fours() -> None:
    nine = song("| C | C | F | G | ? | Am | F | G | C |")
    assert place_of(site_at(nine, None, 5)).phrase is None
    eight = song("| C | ? | C | ? | C | ? | C | ? |")
    assert [place_of(site_at(eight, None, bar)).phrase for bar in (1, 4, 8)] == [0, 3, 7]
    assert [place_of(site_at(eight, None, bar)).end for bar in (1, 4, 8)] == [FIRST, None, LAST]


def test_an_open_bar_repeats_what_the_song_does_there() -> None:
    it = song("| C | Am | F | G | ? | Am | F | G | C |")
    assert suggest(it, None, 5)[0].symbol == "C"
    assert suggest(song("| C | F | G | ? |"), None, 4)[0].symbol == "C"


def test_the_relative_key_written_over_the_chords_changes_little() -> None:
    bars = "| C | G | Am | F | ? | G | C | F | C |"
    own, other = (suggest(song(bars, key), None, 5, count=5) for key in ("C major", "A minor"))
    assert len({each.symbol for each in own} & {each.symbol for each in other}) >= 3
    for key in ("C major", "A minor"):
        assert np.isclose(chances_of(site_at(song(bars, key), None, 5)).sum(), 1)


def test_a_cover_takes_what_adds_most_and_never_gains() -> None:
    chances = np.full(CLASSES, 1e-4)
    chances[class_of(parse_chord("C"), C)] = 0.3
    chances[class_of(parse_chord("C7"), C)] = 0.25
    chances[class_of(parse_chord("F"), C)] = 0.2
    order = list(covering(chances))
    assert sorted(order) == list(range(CLASSES))
    wanted = [class_of(parse_chord(symbol), C) for symbol in ("C", "F", "C7")]
    assert order[:2] == wanted[:2]  # a seventh on a listed root adds less than another root
    cover = Cover(chances)
    for cls in order[:10]:
        before = cover.gain.copy()
        cover.take(cls)
        assert (cover.gain <= before + 1e-12).all()
