"""What a reading tells: function, outside notes, where the chord goes, its other names."""

from __future__ import annotations

import pytest

from engine.chord import parse_chord
from engine.harmony import (
    Category,
    Function,
    Step,
    display_numeral,
    read_chord,
    read_progression,
)
from engine.key import Key
from tests.harmony.progressions import read


def test_what_a_reading_tells() -> None:
    key = Key.parse("C major")
    reading = read_chord(parse_chord("D7"), key, after=parse_chord("G"))
    assert (reading.function, reading.category) == (Function.DOMINANT, Category.APPLIED)
    assert [note.name for note in reading.outside] == ["F#"]
    assert (reading.resolves_to, reading.resolves) == ("G", True)
    assert [note.name for note in reading.scale] == ["D", "E", "F#", "G", "A", "B", "C"]
    assert "F♯, the leading note of G, is outside C major" in reading.explanation
    lost = read_chord(parse_chord("G7"), key, after=parse_chord("Am"))
    assert lost.resolves is False
    assert "deceptive" in lost.explanation


def test_a_chord_struck_again_is_one_chord() -> None:
    key = Key.parse("C major")
    chords = [parse_chord(text) for text in ["G7", "G7", "G9", "C"]]
    found = read_progression([Step(chord, key) for chord in chords])
    assert [reading.resolves for reading in found[:3]] == [True] * 3
    assert all("wants C, which follows" in reading.explanation for reading in found[:3])


# Common practice, no source.
@pytest.mark.parametrize(
    ("key", "chords", "wanted"),
    [
        ("C major", "F/G G7 C", "wants C, which follows"),
        ("Ab major", "Bbm7/Eb Eb7sus4 Eb7 Ab", "wants A♭, which follows"),
        ("E minor", "Am7/B B7 Em", "wants Em, which follows"),
        ("C major", "G7#5 Cmaj7", "wants C, which follows"),
        ("C major", "Gm7/C C7 F", "the suspended dominant of F"),
        ("C major", "Am7/D D7 G", "wants G, which follows"),
        ("C minor", "Fm7/Bb Bb7 Ebmaj7", "wants E♭, which follows"),
        ("C major", "D7/F# F/G C", "wants G, which F/G delays"),
        ("C major", "D7 Db7 C", "wants G, for which its tritone substitute D♭7 comes"),
    ],
)
def test_a_dominant_in_any_dress_wants_its_goal(key: str, chords: str, wanted: str) -> None:
    assert wanted in read(key, chords)[0].explanation


# A substitute stands for the dominant of its goal, spelled as that dominant is.
@pytest.mark.parametrize(
    ("key", "chords", "stands"),
    [
        ("C major", "Db7 C", "substitute of G7"),
        ("C major", "Bb7 Am7 D7", "substitute of E7"),
        ("A major", "F7 E7 A", "substitute of B7"),
        ("Cb major", "Dbb7 Cb", "substitute of G♭7"),
    ],
)
def test_a_substitute_stands_for_the_dominant_of_its_goal(
    key: str, chords: str, stands: str
) -> None:
    assert stands in read(key, chords)[0].explanation


def test_the_second_degree_of_phrygian_falls_to_its_tonic_and_wants_no_dominant() -> None:
    """Common practice, no source: ♭II before i is phrygian, before V it is the Neapolitan."""
    _, phrygian, _, neapolitan, _ = read("E minor", "Em F Em F B7")
    assert (phrygian.category, phrygian.resolves_to) == (Category.BORROWED, "")
    assert "borrowed from E phrygian" in phrygian.explanation
    assert (neapolitan.category, neapolitan.resolves_to) == (Category.NEAPOLITAN, "B")


@pytest.mark.parametrize(
    ("key", "chords", "deceptive"),
    [
        ("C major", "G7 Am", True), ("C minor", "G7 Ab", True), ("C major", "E7 F", True),
        ("C major", "G7 A7", False), ("C major", "G Abm", False), ("C major", "G/B Am", False),
    ],
)  # fmt: skip
def test_a_deceptive_turn_is_to_the_chord_that_shares_the_tonic(
    key: str, chords: str, deceptive: bool
) -> None:
    """Common practice, no source: from the root to vi or VI, which hold the tonic and its third."""
    assert ("deceptive" in read(key, chords)[0].explanation) == deceptive


def test_outside_notes_are_told_apart_and_named_by_their_sound() -> None:
    passing = read("C major", "C/E Ebdim7 Dm7")[1]
    assert "E♭ is the root, G♭ is the lowered fifth, B♭♭ sounds as A" in passing.explanation
    sharp_ninth = read("C minor", "G7#9 Cm")[0].explanation
    assert "A♯, its ♯9, in sound B♭, is outside C minor; B is B♭ raised" in sharp_ninth
    assert "over its major seventh B" in read("C major", "C C/B Am")[1].explanation


def test_what_prepares_a_dominant_wants_that_dominant() -> None:
    key = Key.parse("C major")
    chords = [parse_chord(text) for text in ["Gm7", "C7", "F"]]
    reading = read_progression([Step(chord, key) for chord in chords])[0]
    assert (reading.resolves_to, reading.resolves) == ("C7", True)
    assert "prepares the dominant of F" in reading.explanation


def test_a_goal_in_the_other_mode_and_one_delayed_are_told() -> None:
    key = Key.parse("C major")
    chords = [parse_chord(text) for text in ["E7", "A7", "Dm", "Ab7", "C/G", "G7", "C"]]
    found = read_progression([Step(chord, key) for chord in chords])
    assert "wants Am, which follows as A7" in found[0].explanation
    assert "wants G, which the six-four C/G delays" in found[3].explanation


# Common practice, no source: in a mode its own chords are borrowed from nowhere.
@pytest.mark.parametrize(
    ("key", "chord"), [("D mixolydian", "C"), ("D dorian", "G"), ("E phrygian", "F")]
)
def test_a_mode_has_its_own_chords(key: str, chord: str) -> None:
    reading = read_chord(parse_chord(chord), Key.parse(key))
    assert reading.outside == ()
    assert reading.category is Category.DIATONIC
    assert f"degree of {key}" in reading.explanation
    assert "lowered" not in reading.explanation


@pytest.mark.parametrize(
    ("symbol", "other"),
    [("C9sus4", "Gm7/C"), ("F/G", "G9sus4(no5)"), ("Dm7/G", "G9sus4"), ("Csus4", "Fsus2/C")],
)
def test_a_suspended_dominant_and_a_chord_over_its_bass_name_each_other(
    symbol: str, other: str
) -> None:
    reading = read_chord(parse_chord(symbol), Key.parse("F major"))
    assert other in reading.also
    assert parse_chord(other).pitch_classes == parse_chord(symbol).pitch_classes


def test_one_set_of_notes_is_named_by_its_bass_and_the_other_name_shown() -> None:
    key = Key.parse("C major")
    sixth, seventh = (read_chord(parse_chord(text), key) for text in ("C6", "Am7/C"))
    assert (sixth.roman, sixth.also) == ("I(add6)", ("Am7/C",))
    assert (seventh.roman, seventh.also) == ("vi65", ("C6",))
    assert read_chord(parse_chord("Am(#5)"), key).also == ("F/A",)
    assert read_chord(parse_chord("C#m(#5)"), Key.parse("C# minor")).also == ("A/C#",)


def test_a_root_from_the_other_side_is_understood_and_the_better_spelling_offered() -> None:
    reading = read_chord(parse_chord("G#"), Key.parse("Ab major"))
    assert reading.roman == "I"
    assert [note.name for note in reading.notes] == ["Ab", "C", "Eb"]
    assert reading.better_spelling == "Ab"


def test_a_line_and_a_pedal_point_are_spans() -> None:
    key = Key.parse("A minor")
    line = read_progression([Step(parse_chord(t), key) for t in ["Am", "Am(maj7)", "Am7", "Am6"]])
    assert all("A G♯ G F♯" in reading.span for reading in line)
    held = read_progression([Step(parse_chord(t), key) for t in ["F/A", "G/A", "Am"]])
    assert all("pedal point on A" in reading.span for reading in held)


def test_a_bass_that_goes_on_by_semitones_is_a_span() -> None:
    key = Key.parse("A minor")
    chords = [parse_chord(t) for t in ["Am", "E/G#", "Am/G", "D/F#", "F", "E", "Am"]]
    *line, home = read_progression([Step(chord, key) for chord in chords])
    assert all(reading.span == "the bass falls by semitones, A G♯ G F♯ F E" for reading in line)
    assert home.span == ""
    short = read_progression([Step(chord, key) for chord in chords[:3]])
    assert not any(reading.span for reading in short)


@pytest.mark.parametrize(
    ("key", "chords", "chain"),
    [
        ("Eb major", "Eb Ab Ddim Gm Cm Fm Bb7 Eb", "E♭ A♭ D G C F B♭ E♭"),
        ("G major", "B7 E7 A7 Am7 D7 G", "B E A D G"),
        ("A minor", "Am7 Dm7 G7 Cmaj7 Fmaj7 Bm7b5 E7", "A D G C F B E"),
    ],
)
def test_roots_that_fall_by_fifths_are_a_span(key: str, chords: str, chain: str) -> None:
    """Common practice, no source: the sequence through the scale, and the chain of dominants."""
    found = read(key, chords)
    assert all(reading.span == f"the roots fall by fifths, {chain}" for reading in found)
    assert not any(reading.span for reading in read("C major", "Am Dm G7 C Em F G"))
    assert not any(reading.span for reading in read("C major", "C Eb Ab Db G"))
    assert not any(reading.span for reading in read("Bb major", "F Bb Eb Ab7 Dm"))


def test_numerals_for_people() -> None:
    assert display_numeral("bVII7(#9)") == "♭VII7(♯9)"
    assert display_numeral("subV7/bII") == "subV7/♭II"
    assert display_numeral("IV/Bb") == "IV/B♭"


def test_only_a_cadential_six_four_delays_the_dominant() -> None:
    """Common practice, no source: before another chord than the dominant it is a tonic."""
    assert "which the six-four C/G delays" in read("C major", "C Fm6 C/G G7 C")[1].explanation
    assert "falls back to C/G" in read("C major", "C Fm6 C/G F#dim7 G7")[1].explanation


@pytest.mark.parametrize(
    ("key", "chords", "said"),
    [
        ("C major", "F G7", "It leads to the dominant, and G7 follows."),
        ("C major", "F C", "It could lead to the dominant; here it falls back to C."),
        ("C major", "F Am", "It could lead to the dominant; here Am follows."),
        ("C major", "F C/G G", "It leads to the dominant, which the six-four C/G delays."),
        ("C major", "Dm7 F/G", "It leads to the dominant, and F/G follows; it is also F6/D"),
        ("C minor", "Fm Bdim7", "It leads to the dominant, for which Bdim7 comes."),
        ("C major", "F C7", "It could lead to the dominant; here C7 follows."),
        ("C major", "Bb C", "It leads back to C."),
        ("A minor", "G Am", "It leads back to Am."),
        ("A minor", "Em F", "It could lead back to Am; here F follows."),
        ("D dorian", "G Dm", "B is the dorian sixth."),
    ],
)
def test_a_chord_that_wants_no_single_chord_tells_where_it_may_go(
    key: str, chords: str, said: str
) -> None:
    """Common practice, no source."""
    assert said in read(key, chords)[0].explanation


@pytest.mark.parametrize(
    ("key", "chord", "role"),
    [
        ("C major", "Am", "the relative minor, in place of the tonic"),
        ("A minor", "C", "the relative major, in place of the tonic"),
        ("C major", "F/G", "over a bass of G, a suspended dominant"),
        ("A minor", "Em", "the minor dominant"),
        ("C major", "Ab", "borrowed from C minor, whose A♭ and E♭ are outside C major"),
        ("C major", "Fm", "borrowed from C minor, whose A♭, the lowered sixth degree, is outside"),
        ("C major", "B7", "outside C major are D♯ (leading note of E) and F♯ (from E minor)"),
    ],
)
def test_what_a_chord_is_here(key: str, chord: str, role: str) -> None:
    """Common practice, no source."""
    assert role in read(key, chord)[0].explanation


# Common practice, no source: what may not be said of a chord.
@pytest.mark.parametrize(
    ("key", "chords", "place", "never"),
    [
        ("G major", "G D/G C/G G", 1, "but goes to"),
        ("C major", "C Db/C C", 1, "but goes to"),
        ("C major", "C Gdim7 C", 1, "the dominant"),
        ("C major", "C7 Db7 C7", 0, "deceptive"),
        ("A minor", "Am Am(maj7) Am7 D", 1, "to lead to A"),
        ("G major", "G Gdim7 G C D7 G", 1, "but goes to"),
        ("E major", "E7 A7 E7 B7 A7 E7", 1, "at rest"),
        # a six-four that is no delay: the harmony moves on from it by another way
        ("Ab major", "Db Dbm6 Ab/Eb Bbm7 Eb7 Ab", 1, "delays"),
        ("Bb major", "Bb Ebm6/Gb Bb/F D7/F# Gm", 1, "delays"),
    ],
)
def test_an_explanation_does_not_contradict_what_is_heard(
    key: str, chords: str, place: int, never: str
) -> None:
    assert never not in read(key, chords)[place].explanation


# Common practice, no source: what comes where the dominant is prepared.
@pytest.mark.parametrize(
    ("key", "chords", "said"),
    [
        ("C minor", "Cm Db/F G7", "wants G, which follows."),
        ("C minor", "Cm Db/F Cm/G G7", "wants G, which the six-four Cm/G delays."),
        ("C minor", "Cm Db/F F#dim7 G", "wants G, before which F♯dim7 comes"),
        ("C minor", "Cm Db/F Bdim7 Cm", "wants G, for which Bdim7 comes"),
        ("C major", "C Eb/G Dm/A A7 Dm", "wants A7, which the six-four Dm/A delays."),
        ("C major", "C Am7/C F#dim7 G", "wants D7, for which F♯dim7 comes"),
    ],
)
def test_what_prepares_a_dominant_tells_how_it_comes(key: str, chords: str, said: str) -> None:
    assert said in read(key, chords)[1].explanation


def test_a_dominant_that_turns_minor_goes_to_that_chord() -> None:
    """Common practice, no source: G/B Gm/B♭ leaves the dominant at once."""
    assert "but goes to Gm/B♭" in read("C major", "C G/B Gm/Bb A7 Dm")[1].explanation


# Common practice, no source.
@pytest.mark.parametrize(
    ("key", "chords", "place", "said"),
    [
        ("G major", "G Gdim7 G C D7 G", 1, "wants G, which follows"),
        ("B major", "B F#7 B/F# F#7 B", 1, "wants B, which comes only as B/F♯"),
        ("E major", "E7 A7 E7 B7 A7 E7", 0, "D, the blue seventh, is outside E major"),
        ("E major", "E7 A7 E7 B7 A7 E7", 1, "G, the blue third, is outside E major"),
        ("G major", "G F C G", 1, "It leads on to C, as C does to G."),
        ("A major", "A G D/F# Dm/F", 1, "It leads on to D/F♯, as D does to A."),
        ("D dorian", "Dm7 G A7 Dm", 2, "C♯ is C raised, to lead to D"),
        ("D dorian", "Dm7 G A7 Dm", 1, "B is the dorian sixth"),
        ("A major", "E7sus4 E7 Bm7", 0, "It wants A; the third comes with E7."),
        ("A major", "E7sus4 E7 A", 0, "It wants A, which follows; the third comes with E7."),
        ("F major", "Fsus2 F Bb", 0, "the third comes with F."),
        ("A major", "E7sus4 A E", 0, "It wants A, which follows."),
        ("D minor", "Dm Gm A7 D", 3, "closes the minor key with a Picardy third"),
        ("D minor", "Dm Gm D", 2, "closes the minor key with a Picardy third"),
    ],
)
def test_what_a_chord_does_in_its_place_is_told(
    key: str, chords: str, place: int, said: str
) -> None:
    assert said in read(key, chords)[place].explanation


@pytest.mark.parametrize("chords", ["D", "D Gm A7 Dm", "Dm D7 Gm A7 Dm D"])
def test_a_picardy_third_closes_after_a_dominant_or_subdominant(chords: str) -> None:
    """Common practice, no source."""
    assert not any("Picardy" in reading.explanation for reading in read("D minor", chords))


def test_a_root_that_would_need_two_flats_is_said_to_stand_for_it() -> None:
    assert "A stands for B♭♭ in this key" in read("Db major", "Db A Ab7 Db")[1].explanation


@pytest.mark.parametrize("key", ["C major", "A minor", "Eb major", "F# minor", "D dorian"])
def test_explanations_are_one_or_two_sentences(key: str) -> None:
    """Over every chord of common kinds on every root, before the tonic."""
    tonic = "m" if Key.parse(key).is_minor else ""
    for root in ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"):
        for suffix in ("", "m", "7", "maj7", "m7", "dim7", "m7b5", "6", "7sus4", "aug"):
            found = read(key, f"{root}{suffix} {Key.parse(key).tonic}{tonic}")[0]
            assert 1 <= found.explanation.count(". ") + 1 <= 2
            assert found.explanation.endswith(".")
            assert len(found.explanation) <= 200
