"""Worked numerals, in every key; and laws a reading keeps."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.chord import Chord, parse_chord
from engine.harmony import (
    Category,
    ChordReading,
    Function,
    Step,
    read_chord,
    read_progression,
)
from engine.key import Key
from engine.pitch import Interval, Note
from tests.harmony.progressions import read

# Key, chords (the first is asked about), its notes from the bass up, its numeral. The notes of
# all but the last group agree with music21's RomanNumeral(numeral, key).pitches; Neapolitan,
# augmented sixths, applied chords and mixture after Open Music Theory (CC BY-SA).
WORKED = """
C major | D7 | D F# A C | V7/V
C major | D7/F# | F# A C D | V65/V
Eb major | F7 | F A C Eb | V7/V
C major | F#dim7 | F# A C Eb | vii°7/V
C major | A7 | A C# E G | V7/ii
C major | C#dim/E | E G C# | vii°6/ii
C major | E7 | E G# B D | V7/vi
C major | B7 | B D# F# A | V7/iii
G major | G7/F | F G B D | V42/IV
G major | D#dim7 | D# F# A C | vii°7/vi
A major | C#7 | C# E# G# B | V7/vi
A minor | A7 | A C# E G | V7/iv
D minor | C#dim7 | C# E G Bb | vii°7
Bb major | F7/C | C Eb F A | V43
C major | Fm | F Ab C | iv
C major | Dm7b5/F | F Ab C D | iiø65
Ab major | Dbm/Fb | Fb Ab Db | iv6
C major | Ab | Ab C Eb | bVI
C major | Bb | Bb D F | bVII
C major | Db/F | F Ab Db | N6
C minor | Db/F | F Ab Db | N6
A minor | Bb/D | D F Bb | N6
C minor | Ab7(no5) G | Ab C F# | It6
C minor | Ab7b5 G | Ab C D F# | Fr43
E minor | C7 B | C E G A# | Ger65
F major | Gm7/Bb | Bb D F G | ii65
D major | G/B | B D G | IV6
C major | F#dim | F# A C | vii°/V
C major | Db7 C | Db F Ab Cb | subV7
C major | Cdim7 C | C D# F# A | CT°7
C major | C/G G | G C E | Cad64
C major | Ab7 G | Ab C Eb F# | Ger65
C major | Ab7 C/G | Ab C Eb F# | Ger65
C major | Ab7 Db | Ab C Eb Gb | V7/bII
C major | Ab7 G7 | Ab C Eb Gb | subV7/V
C major | C7 F | C E G Bb | V7/IV
C major | C7 G | C E G Bb | I7
"""
ROWS = [[part.strip() for part in line.split("|")] for line in WORKED.strip().splitlines()]
ROMAN_TO_MUSIC21 = {"°": "o", "ø": "/o"}


def _first(key: Key, chords: list[Chord]) -> ChordReading:
    return read_progression([Step(chord, key) for chord in chords])[0]


@pytest.mark.parametrize(("key", "chords", "notes", "roman"), ROWS)
def test_worked_examples(key: str, chords: str, notes: str, roman: str) -> None:
    reading = _first(Key.parse(key), [parse_chord(text) for text in chords.split()])
    assert reading.roman == roman
    assert [note.name for note in reading.notes] == notes.split()


@pytest.mark.parametrize(("key", "chords", "notes", "roman"), ROWS)
def test_worked_examples_in_all_transpositions(
    key: str, chords: str, notes: str, roman: str
) -> None:
    home = Key.parse(key)
    for signature in range(-7, 8):
        shift = signature - home.signature
        there = Key(Note(home.tonic.fifths + shift), home.mode)
        moved = [_shifted(parse_chord(text), shift) for text in chords.split()]
        reading = _first(there, moved)
        assert reading.roman == roman
        wanted = [Note(Note.parse(name).fifths + shift) for name in notes.split()]
        assert [note.pc for note in reading.notes] == [note.pc for note in wanted]
        if all(abs(note.alter) <= 2 for note in wanted):
            assert list(reading.notes) == wanted


def _shifted(chord: Chord, fifths: int) -> Chord:
    bass = None if chord.bass is None else Note(chord.bass.fifths + fifths)
    return Chord(Note(chord.root.fifths + fifths), chord.members, bass)


SYMBOLS = st.builds(
    lambda root, suffix, bass: f"{root}{suffix}{bass}",
    st.sampled_from(["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"]),
    st.sampled_from(["", "m", "7", "m7", "maj7", "dim", "dim7", "m7b5", "6", "7sus4", "9", "aug"]),
    st.sampled_from(["", "", "", "/G", "/E", "/Bb"]),
)


@given(
    st.lists(SYMBOLS, min_size=1, max_size=6),
    st.sampled_from(["major", "minor", "dorian", "phrygian", "lydian", "mixolydian"]),
    st.integers(-7, 7),
)  # fmt: skip
@settings(max_examples=120, deadline=None)
def test_reading_commutes_with_transposition(symbols: list[str], mode: str, fifths: int) -> None:
    chords = [parse_chord(text) for text in symbols]
    home = Key(Note(0), mode)
    there = Key(Note(fifths), mode)
    one = read_progression([Step(chord, home) for chord in chords])
    two = read_progression([Step(_shifted(chord, fifths), there) for chord in chords])
    for a, b in zip(one, two, strict=True):
        assert a.category == b.category
        assert a.function == b.function
        assert a.resolves == b.resolves
        assert a.span[:12] == b.span[:12]
        foreign = a.roman.rpartition("/")[2][:1] in tuple("ABCDEFG")
        assert foreign or a.roman == b.roman
        assert [(note.pc + 7 * fifths) % 12 for note in a.notes] == [note.pc for note in b.notes]


@given(SYMBOLS, st.sampled_from(["C major", "F# major", "Gb major", "Eb minor", "G# minor"]))
@settings(max_examples=150, deadline=None)
def test_notes_are_the_chord_and_never_need_three_accidentals(symbol: str, key: str) -> None:
    chord = parse_chord(symbol)
    reading = read_chord(chord, Key.parse(key))
    assert {note.pc for note in reading.notes} == chord.pitch_classes
    assert reading.notes[0].pc == chord.bass_note.pc
    assert all(abs(note.alter) <= 2 for note in (*reading.notes, *reading.scale))
    assert {note.pc for note in reading.notes} <= {note.pc for note in reading.scale}


@pytest.mark.parametrize("row", [row for row in ROWS if " " not in row[1]], ids=lambda row: row[3])
def test_numerals_lead_back_to_the_notes_by_music21(row: list[str]) -> None:
    """music21's numeral-to-pitches direction on the worked examples."""
    from music21 import roman

    key, _, notes, numeral = row
    tonic = key.split()[0].replace("b", "-")
    figure = numeral.replace("N6", "bII6")
    for ours, theirs in ROMAN_TO_MUSIC21.items():
        figure = figure.replace(ours, theirs)
    tonic = tonic.lower() if key.endswith("minor") else tonic
    found = roman.RomanNumeral(figure, tonic)
    assert sorted(p.name.replace("-", "b") for p in found.pitches) == sorted(notes.split())


# Common practice, no source: what the whole progression is read as.
@pytest.mark.parametrize(
    ("key", "chords", "romans"),
    [
        ("C major", "E7 A7 D7 G7 C", "V7/vi V7/ii V7/V V7 I"),
        ("C major", "F#m7b5 B7 Em", "iiø7/iii V7/iii iii"),
        ("C major", "Gm7 C7 F", "ii7/IV V7/IV IV"),
        ("C major", "Cmaj7 C#dim7 Dm7", "I7 vii°7/ii ii7"),
        ("C major", "Em7 Ebdim7 Dm7", "iii7 biii°7 ii7"),
        ("C major", "C7 F7 C7 G7 F7 C7", "I7 IV7 I7 V7 IV7 I7"),
        ("C major", "C D F C", "I II IV I"),
        ("C major", "Fm7 Bb7 C", "iv7 bVII7 I"),
        ("C major", "F/G C", "IV/G I"),
        ("C major", "G/F C/E", "V42 I6"),
        ("A minor", "Am Am(maj7) Am7 D7", "i i(maj7) i7 IV7"),
        ("A minor", "Am G F E7 Am", "i VII VI V7 i"),
        ("A minor", "Bm7b5 E7 Am A", "iiø7 V7 i I"),
        ("C major", "C C7", "I I7"),
        ("C major", "Fmaj7 E7 Am7 C7", "IV7 V7/vi vi7 V7/IV"),
        ("C major", "C7 C7 C7", "I7 I7 I7"),
        ("C major", "C7 F C7 G7 C7", "I7 IV I7 V7 I7"),
        ("C major", "Am7 C7 F C7 F", "vi7 V7/IV IV V7/IV IV"),
        ("C major", "C7 Db7 C7", "I7 subV7 I7"),
        ("C major", "C7 Gm7 C7 Gm7", "I7 v7 I7 v7"),
        ("C major", "C7 Bb7 C7 Bb7", "I7 bVII7 I7 bVII7"),
        ("C major", "C F7 C F7", "I IV7 I IV7"),
        ("C major", "C Caug C6 Caug", "I I+ I(add6) I+"),
        ("C major", "C Caug C6 C7 F", "I I+ I(add6) V7/IV IV"),
        ("C major", "C E C", "I III I"),
        ("C major", "C E7 F", "I V7/vi IV"),
        ("C major", "C Ebdim7 Dm7 G7", "I biii°7 ii7 V7"),
        ("C major", "Em7 Eb7 Dm7 Db7 Cmaj7", "iii7 subV7/ii ii7 subV7 I7"),
        ("C major", "Fm7 Bb7 Ebmaj7", "ii7/bIII V7/bIII bIII7"),
        ("C major", "Bb7 C7 F", "bVII7 V7/IV IV"),
        ("C major", "C A7sus4 A7 Dm7", "I V7(sus4)/ii V7/ii ii7"),
        ("C major", "C Dsus4 D G", "I V(sus4)/V V/V V"),
        ("C major", "C Dsus4 G", "I ii(sus4) V"),
        ("C major", "Cmaj7 F7 Bbmaj7 Bbm7 Eb7 Abmaj7", "I7 V7/bVII bVII7 ii7/bVI V7/bVI bVI7"),
        ("C major", "C Eb7 D7 G7", "I subV7/ii V7/V V7"),
        ("C major", "C D/C C", "I II42 I"),
        ("C major", "C D/C F/C C", "I II42 IV64 I"),
        ("C major", "C D/C G/B", "I V42/V V6"),
        ("C major", "F#m7b5 Fm6 C/E", "#ivø7 iv(add6) I6"),
        ("C major", "F#m7b5 G", "viiø7/V V"),
        ("C minor", "Cm/Eb Ebdim7 Dm7b5 G7", "i6 iii°7 iiø7 V7"),
        ("C major", "C F C Eb F C", "I IV I bIII IV I"),
        ("F lydian", "F G F Em", "I II I vii"),
        ("E minor", "Em F Em F/A B7 Em", "i bII i N6 V7 i"),
        ("A minor", "E A A Dm", "V I I iv"),
        ("A minor", "Am A Dm", "i V/iv iv"),
        ("A minor", "Am G/B C", "i V6/III III"),
        ("A minor", "Am G/B C F G", "i VII6 III VI VII"),
        ("A minor", "Am G/B C F G E7", "i V6/III III VI VII V7"),
        ("A minor", "Am G7/B C F G Am", "i V65/III III VI VII i"),
        ("A minor", "Am Bdim/D C", "i vii°6/III III"),
        ("A minor", "Am F#dim/A G", "i vii°6/VII VII"),
        ("A minor", "Dm C#dim7 D", "iv vii°7/IV IV"),
        ("A minor", "Am7 G7 Am7", "i7 VII7 i7"),
        ("G mixolydian", "G F Dm7 G7", "I bVII v7 I7"),
        ("C mixolydian", "C7 Bb Gm7 C7", "I7 bVII v7 I7"),
        ("C mixolydian", "C Gm7 C7 F", "I ii7/IV V7/IV IV"),
    ],
)
def test_progressions(key: str, chords: str, romans: str) -> None:
    home = Key.parse(key)
    found = read_progression([Step(parse_chord(text), home) for text in chords.split()])
    assert " ".join(reading.roman for reading in found) == romans


@pytest.mark.parametrize("chords", ["C Bb/C F/C C", "C Am7/D Em", "C C/D Em"])
def test_a_chord_over_a_bass_that_does_not_go_on_is_no_suspended_dominant(chords: str) -> None:
    """Common practice, no source: over a pedal point, or as a colour, it stands for itself."""
    assert read("C major", chords)[1].category is not Category.APPLIED


def test_a_six_four_that_is_arrived_at_is_no_passing_chord() -> None:
    """Common practice, no source: ♯iv°7 leads to I64, from where the bass may go on up."""
    _, _, arrived, *_ = read("C major", "F F#dim7 C/G A7 Dm7 G7")
    assert (arrived.roman, arrived.function) == ("I64", Function.TONIC)


def test_a_chord_that_slides_between_semitones_is_passing() -> None:
    """Common practice, no source: iii7 ♭iii7 ii7; a substitute dominant is still one."""
    _, sliding, _, substitute, _ = read("C major", "Em7 Ebm7 Dm7 Db7 Cmaj7")
    assert (sliding.category, sliding.function) == (Category.PASSING, Function.PASSING)
    assert substitute.category is Category.SUBSTITUTE


def test_a_foreign_bass_is_a_pedal_point_only_where_it_stays() -> None:
    key = Key.parse("C major")
    held = [parse_chord(text) for text in ["C", "Dm/C", "G/C", "C"]]
    found = read_progression([Step(chord, key) for chord in held])
    assert found[2].category is Category.PEDAL
    passing = [parse_chord(text) for text in ["Am", "F/B", "Em"]]
    assert read_progression([Step(chord, key) for chord in passing])[1].category is not (
        Category.PEDAL
    )


@pytest.mark.parametrize(
    ("chords", "place", "category"),
    [
        ("C F/C C", 1, Category.PEDAL),
        ("C G/D C/E", 1, Category.PASSING),
        ("F C/G G7", 1, Category.CADENTIAL),
    ],
)
def test_six_fours_by_what_they_link(chords: str, place: int, category: Category) -> None:
    key = Key.parse("C major")
    found = read_progression([Step(parse_chord(text), key) for text in chords.split()])
    assert found[place].category is category


def test_a_taller_diminished_chord_is_not_turned() -> None:
    key = Key.parse("F# major")
    chord = parse_chord("B°9")
    assert {note.pc for note in read_chord(chord, key).notes} == chord.pitch_classes


def test_transposed_chords_never_need_three_accidentals() -> None:
    for text in ("Fbdim7", "B#7(#9)", "Cbm7b5"):
        for name in ("m2", "A4", "M7", "d5"):
            moved = parse_chord(text).moved(Interval.parse(name))
            assert all(abs(note.alter) <= 2 for note in moved.notes)
