"""Key finding: published profiles' worked outputs, and keys from progressions."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.harmony import analyse, find_key, key_correlations
from engine.key import Key
from engine.song import Song, interval_to, read_song, transpose


def _song(chart: str, key: str = "C major") -> Song:
    return read_song(
        f'format = 1\ntitle = "x"\nkey = "{key}"\nmeter = "4/4"\n'
        f'[[section]]\nname = "A"\nchart = """\n{chart}\n"""\n'
    )


# Pearson's r measured with the profiles as published (Krumhansl & Kessler 1982; Temperley 2007).
@pytest.mark.parametrize(
    ("profile", "weights", "place", "key", "r"),
    [
        (
            "krumhansl-kessler",
            "20.03 1 0 0 10.36 15.2 0 15.2 13.86 0 11.52 0",
            0,
            "F minor",
            0.7142,
        ),
        (
            "krumhansl-kessler",
            "20.03 1 0 0 10.36 15.2 0 15.2 13.86 0 11.52 0",
            1,
            "C major",
            0.6371,
        ),
        ("kostka-payne", "20.03 1 0 0 10.36 15.2 0 15.2 13.86 0 11.52 0", 0, "F minor", 0.9161),
        ("krumhansl-kessler", "1 0 1 0 1 1 0 1 0 1 0 1", 0, "C major", 0.7564),
        ("krumhansl-kessler", "3 0 1 0 2 1 0 2 0 2 0 1", 0, "C major", 0.9348),
        ("krumhansl-kessler", "3 0 1 0 2 1 0 2 0 2 0 1", 1, "A minor", 0.8298),
        ("krumhansl-kessler", "3 0 1 2 0 2 0 3 1 0 0 1", 0, "C minor", 0.8744),
    ],
)
def test_profiles_give_their_published_outputs(
    profile: str, weights: str, place: int, key: str, r: float
) -> None:
    found, value = key_correlations([float(word) for word in weights.split()], profile)[place]
    assert found == Key.parse(key)
    assert value == pytest.approx(r, abs=0.00006)


@pytest.mark.parametrize(
    ("chart", "key"),
    [
        ("| C | G | Am | F | C | G | F | C |", "C major"),
        ("| Ab | Fm | Db | Eb | Ab | Fm | Db Eb | Ab |", "Ab major"),
        ("| Am | Dm | E7 | Am | F | Dm | E7 | Am |", "A minor"),
        ("| Cm | Fm | G7 | Cm | Ab | Fm | G7 | Cm |", "C minor"),
        ("| A7 | D7 | A7 | A7 | D7 | D7 | A7 | A7 | E7 | D7 | A7 | E7 |", "A major"),
        ("| Gb | Db | Ebm | Cb | Gb | Db | Cb Db | Gb |", "Gb major"),
    ],
)
def test_keys_of_progressions(chart: str, key: str) -> None:
    finding = find_key(_song(chart))
    assert finding.key == Key.parse(key)
    assert 0 < finding.confidence <= 1
    assert all(share <= finding.confidence for _, share in finding.others)


# Common practice, no source: suspended dominants over their bass.
@pytest.mark.parametrize(
    ("chart", "key"),
    [
        ("| F/G | C | F/G | C |", "C major"),
        ("| A/B | E | A | A/B | E | A/B | E | E |", "E major"),
        ("| Dm7/G | C | Fm7/Bb | Eb | Fm7/Bb | Eb | Fm7/Bb | Eb |", "Eb major"),
    ],
)
def test_a_triad_over_the_dominant_bass_is_heard_as_the_dominant(chart: str, key: str) -> None:
    assert find_key(_song(chart)).key == Key.parse(key)


# Common practice, no source: loops in which a pianist hears one tonic.
@pytest.mark.parametrize(
    ("loop", "key"),
    [
        ("C G Am F", "C major"), ("G D Em C", "G major"), ("Ab Fm Db Eb", "Ab major"),
        ("D C G D", "D major"), ("E D A E", "E major"), ("Am G F E", "A minor"),
        ("Dm C Bb A7", "D minor"), ("Cm Ab Bb Cm", "C minor"), ("Em A Em A", "E minor"),
        ("Gm C Gm C", "G minor"), ("Bm G A Bm", "B minor"), ("C Eb F C", "C major"),
        ("C Cmaj7 F Fm", "C major"), ("Am D F E", "A minor"), ("Dm7 G7 Cmaj7 Am7", "C major"),
        ("Gb Ebm Cb Db", "Gb major"), ("F#m D E F#m", "F# minor"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("times", [1, 2, 4])
def test_keys_of_loops(loop: str, key: str, times: int) -> None:
    assert find_key(_song(f"| {' | '.join(loop.split())} |\n" * times)).key == Key.parse(key)


# Common practice, no source: two tonics that a listener may choose from.
@pytest.mark.parametrize(
    ("loop", "keys"),
    [
        ("Am F C G", {"A minor", "C major"}), ("C F C F", {"C major", "F major"}),
        ("Em G Em G", {"E minor", "G major"}), ("F C F C", {"C major", "F major"}),
        ("C G C G", {"C major", "G major"}), ("Dm Am Dm Am", {"D minor", "A minor"}),
    ],
)  # fmt: skip
def test_in_doubt_little_is_believed_and_the_rival_is_named(loop: str, keys: set[str]) -> None:
    finding = find_key(_song(f"| {' | '.join(loop.split())} |\n" * 2))
    assert {finding.key.name, finding.others[0][0].name} == keys
    assert finding.confidence < 0.85


def test_a_song_that_modulates_is_in_the_key_it_begins_in() -> None:
    chart = "| C | Am | F | G | C | Am | F | A7 | D | Bm | G | A | D | Bm | A | D |"
    finding = find_key(_song(chart))
    assert finding.key == Key.parse("C major")
    assert [(r.first, r.key.name) for r in finding.regions] == [(1, "C major"), (8, "D major")]


def test_the_written_key_does_not_sway_the_finder() -> None:
    chart = "| D | A | Bm | G | D | A | G A | D |"
    assert find_key(_song(chart, "C major")).key == find_key(_song(chart, "Eb minor")).key


UP_A_STEP = "| C | Am | F | G7 | C | Am | F G7 | C | A7 | D | Bm | G | A7 | D | Bm | G A7 | D |"


def test_a_song_that_moves_up_a_step_has_two_regions() -> None:
    reading = analyse(_song(UP_A_STEP))
    assert [region.key.name for region in reading.regions] == ["C major", "D major"]
    assert "up a step" in reading.regions[1].how
    last = reading.chords[-1]
    assert (last.key, last.roman) == (Key.parse("D major"), "I")


# Common practice, no source: a second part in the relative or parallel key, prepared by its V7.
@pytest.mark.parametrize(
    ("chart", "key", "how"),
    [
        (
            "| C | G | F | C | F | G | C | C | Am | Dm | E7 | Am | F | Dm | E7 | Am | Am E7 | Am |",
            "A minor",
            "to the relative minor",
        ),
        (
            "| C | F | G7 | C | C | F | G7 | C | Cm | Fm | G7 | Cm | Ab | Fm | G7 | Cm |",
            "C minor",
            "to the parallel key",
        ),
        (
            "| C | F | G7 | C | Am | Dm7 | G7 | C | Ab7 | Db | Gb | Ab7 | Db | Bbm | Ab7 | Db |",
            "Db major",
            "up a semitone",
        ),
    ],
)
def test_a_second_part_in_another_key_is_a_region(chart: str, key: str, how: str) -> None:
    first, second = analyse(_song(chart)).regions
    assert (first.key, first.first, first.last) == (Key.parse("C major"), 1, 8)
    assert (second.key, second.first) == (Key.parse(key), 9)
    assert second.how.startswith(how)


# Common practice, no source: the last chord that both keys have.
@pytest.mark.parametrize(
    ("chart", "pivot"),
    [
        (
            "| C | F | G | C | Am | D7 | G | Em | C | D7 | G | Em | Am7 | D7 | G | Am D7 | G |",
            "Am (vi = ii)",
        ),
        (
            "| C | F | G | C | C | F | G | C | Dm | E7 | Am | F | E7 | Am | E7 | Am |",
            "Dm (ii = iv)",
        ),
    ],
)
def test_a_pivot_is_named_in_both_keys(chart: str, pivot: str) -> None:
    _, second, *_ = analyse(_song(chart)).regions
    assert f"by way of {pivot}" in second.how


def test_a_pivot_within_a_bar_is_the_one_that_its_sentence_tells_of() -> None:
    """The key changes in the middle of bar 9: what comes before its first whole bar counts."""
    reading = analyse(_song(
        "| C | Am F | G7 | C Am | D7 | G Em | Am D7 | G | C D7 | G | Em Am | D7 | G | D7 | G "
        "| C D7 | G |"
    ))  # fmt: skip
    told = {chord.chord.symbol for chord in reading.chords if "pivot" in chord.explanation}
    named = {region.how.partition("by way of ")[2].partition(" ")[0] for region in reading.regions}
    assert told == named - {""} == {"C"}


def test_a_step_up_has_no_pivot() -> None:
    assert "by way of" not in analyse(_song(UP_A_STEP)).regions[1].how


def test_regions_found_from_the_chords_have_confidence() -> None:
    finding = find_key(_song(UP_A_STEP))
    assert {region.key.name for region in finding.regions} == {"C major", "D major"}
    assert all(0.5 < region.confidence < 1 for region in finding.regions)


def test_keys_that_go_round_by_major_thirds_have_confidence() -> None:
    """Each dominant belongs to the key it leads to, though it sounds in the bar before."""
    finding = find_key(_song("| Cmaj7 Eb7 | Abmaj7 B7 | Emaj7 G7 | Cmaj7 |"))
    assert [region.key.name for region in finding.regions] == [
        "C major", "Ab major", "E major", "C major",
    ]  # fmt: skip
    assert all(region.confidence > 0.85 for region in finding.regions)


PARTS = st.lists(
    st.sampled_from([
        "C", "Dm", "Em", "F", "G7", "Am", "E7", "A7", "D7", "Fm", "Bb", "Ab", "Cm", "Eb7",
        "Dm7b5", "F/G", "C/E", "G/B", "Bm7b5",
    ]),
    min_size=4, max_size=16,
)  # fmt: skip


@given(PARTS, st.sampled_from(["Gb major", "F# major", "Cb major", "Db major", "E major"]))
@settings(max_examples=25, deadline=None)
def test_keys_and_regions_commute_with_transposition(chords: list[str], name: str) -> None:
    song = _song("| " + " | ".join(chords) + " |")
    key = Key.parse(name)
    there = transpose(song, interval_to(song.key, key.tonic))
    up = key.tonic.pc
    one, two = find_key(song), find_key(there)
    assert (one.key.tonic.pc + up) % 12 == two.key.tonic.pc
    assert one.confidence == pytest.approx(two.confidence)
    pairs = list(zip(analyse(song).chords, analyse(there).chords, strict=True))
    turns = {moved.chord.root.fifths - here.chord.root.fifths for here, moved in pairs}
    for here, moved in pairs:
        assert (here.key.tonic.pc + up) % 12 == moved.key.tonic.pc
        turns.add(moved.key.tonic.fifths - here.key.tonic.fifths)
    if turns == {key.tonic.fifths}:  # nothing was respelled
        for here, moved in pairs:
            foreign = here.roman.rpartition("/")[2][:1] in tuple("ABCDEFG")
            assert foreign or here.roman == moved.roman


C_PART = "| C | Am | F | G7 | C | Am | Dm G7 | C |\n"


# Common practice, no source: a part of eight bars with its own full cadences is in its own key.
@pytest.mark.parametrize(
    ("part", "key"),
    [
        ("| G | Em | Am7 D7 | G | G | C | Am7 D7 | G |", "G major"),
        ("| Am | Dm | E7 | Am | F | Dm | Bm7b5 E7 | Am |", "A minor"),
        ("| F | Dm | Gm7 C7 | F | F | Bb | Gm7 C7 | F |", "F major"),
    ],
)
def test_a_middle_part_that_cadences_twice_is_a_region(part: str, key: str) -> None:
    regions = analyse(_song(f"{C_PART}{part}\n{C_PART}")).regions
    assert [(region.first, region.last, region.key.name) for region in regions] == [
        (1, 8, "C major"), (9, 16, key), (17, 24, "C major"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "chart",
    [
        "| C | Am | F | G7 | C | Am7 | D7 | G |\n" * 2 + C_PART,
        "| C | F | C | Am | D7 | G | Am7 D7 | G |\n" + C_PART,
        C_PART + "| F | G | C | C7 | F | G | C7 | F |\n" + C_PART,
    ],
)
def test_half_cadences_and_a_visit_to_the_subdominant_stay_in_the_key(chart: str) -> None:
    """Common practice, no source."""
    assert [region.key.name for region in analyse(_song(chart)).regions] == ["C major"]


@pytest.mark.parametrize(
    ("chart", "key"),
    [
        ("| Am | E7 | A7 | Dm | Bm7b5 | E7 | Am | E | Am | E7 | A7 | Dm | Dm/F | E | E7 | Am |",
         "A minor"),
        ("| Cm | C7/E | Fm | F#dim7 | G | Cm | G7 | Cm | G/B | Cm | C7/E | Fm | F#dim7 | G |",
         "C minor"),
        ("| Gm | D7/F# | G7/F | Cm/Eb | F7 | Bb | Eb | Am7b5 | D7 | Gm | G7 | Cm | D7 | Gm |",
         "G minor"),
        ("| Dm | A7 | D7 | Gm | Em7b5 | A7 | Bb | G#dim7 | A | Gm | C7 | F | Bb | A7 | Dm |",
         "D minor"),
    ],
)  # fmt: skip
def test_a_minor_piece_that_touches_its_degrees_stays_in_its_key(chart: str, key: str) -> None:
    """Applied dominants and a circle of fifths are no modulation (common practice)."""
    assert [region.key.name for region in analyse(_song(chart, key)).regions] == [key]


def test_the_written_key_can_be_kept() -> None:
    reading = analyse(_song(UP_A_STEP), fixed_key=True)
    assert {chord.key.name for chord in reading.chords} == {"C major"}


def test_readings_are_found_by_place() -> None:
    reading = analyse(_song("| C | N.C. | F G7 | C |"))
    assert reading.at(2, 0) is None
    found = reading.at(3, 1)
    assert found is not None
    assert (found.roman, found.beat) == ("V7", Fraction(3))
