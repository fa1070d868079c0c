"""Chords that lean on another degree, in whole progressions and in every key."""

from __future__ import annotations

import re
from collections.abc import Sequence

import pytest

from engine.chord import Chord, parse_chord
from engine.harmony import Category, Step, read_progression
from engine.key import Key
from engine.pitch import Note
from tests.harmony.progressions import Worked, applied_progressions, read

ROWS = applied_progressions()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.key.short} {' '.join(row.chords)}")
def test_a_worked_progression_is_read_so_in_every_key(row: Worked) -> None:
    """Common practice, no one source: applied.txt."""
    chords = [parse_chord(text) for text in row.chords]
    for fifths in range(-5, 7):
        steps = [Step(_moved(chord, fifths), _key(row.key, fifths)) for chord in chords]
        found = [reading.roman for reading in read_progression(steps)]
        assert _without_basses(found) == _without_basses(row.romans), fifths


def test_the_worked_progressions_are_many_and_of_every_kind() -> None:
    applied = [roman for row in ROWS for roman in row.romans if "/" in roman]
    assert len(ROWS) > 400
    assert len(applied) > 450
    goals = {roman.rpartition("/")[2] for roman in applied}
    assert {"ii", "iii", "IV", "iv", "V", "vi", "III", "VI", "VII", "bIII", "bVI", "bVII"} <= goals


def _moved(chord: Chord, fifths: int) -> Chord:
    bass = None if chord.bass is None else Note(chord.bass.fifths + fifths)
    return Chord(Note(chord.root.fifths + fifths), chord.members, bass)


def _key(key: Key, fifths: int) -> Key:
    return Key(Note(key.tonic.fifths + fifths), key.mode)


def _without_basses(romans: Sequence[str]) -> list[str]:
    """Numerals with foreign basses unnamed: those are named by note and move with the key."""
    return [re.sub(r"/[A-G][#b]*$", "", roman) for roman in romans]


# What the numerals of a tonicised group mean, in words and notes.
def test_the_six_four_of_a_degree_delays_its_dominant() -> None:
    six_four = read("C major", "C Am7/C G/D D7 G")[2]
    assert (six_four.category, six_four.roman) == (Category.CADENTIAL, "Cad64/V")
    assert six_four.explanation.startswith("Cadential six-four: over D it delays V/V.")
    assert six_four.resolves


def test_an_augmented_sixth_of_a_degree_opens_to_its_dominant() -> None:
    sixth = read("C major", "C F7 E Am")[1]
    assert [note.name for note in sixth.notes] == ["F", "A", "C", "D#"]
    assert "F falls and D♯ rises to E" in sixth.explanation


def test_a_neapolitan_of_a_degree_prepares_its_dominant() -> None:
    neapolitan = read("C major", "C Eb/G A7 Dm")[1]
    assert neapolitan.roman == "N6/ii"
    assert "prepares the dominant of Dm" in neapolitan.explanation


@pytest.mark.parametrize(
    ("goal", "group"),
    [
        ("bII7", "Ebm7 Ab7 Dbmaj7"), ("bIII7", "Fm7 Bb7 Ebmaj7"), ("III7", "F#m7 B7 Emaj7"),
        ("IV7", "Gm7 C7 Fmaj7"), ("bVI7", "Bbm7 Eb7 Abmaj7"), ("VI7", "Bm7 E7 Amaj7"),
        ("bVII7", "Cm7 F7 Bbmaj7"), ("VII7", "C#m7 F#7 Bmaj7"), ("ii7", "Em7b5 A7 Dm7"),
        ("iii7", "F#m7 B7 Em7"), ("iii7", "F#m7b5 B7 Em7"), ("vi7", "Bm7b5 E7 Am7"),
    ],
)  # fmt: skip
def test_a_ii_v_group_from_outside_the_key_belongs_to_its_goal(goal: str, group: str) -> None:
    """Common practice of standards, no source; also where the group begins the progression."""
    name = goal.removesuffix("7")
    for chords in (f"Cmaj7 {group}", group):
        two, five, one = (reading.roman for reading in read("C major", chords)[-3:])
        assert two in (f"ii7/{name}", f"iiø7/{name}")
        assert (five, one) == (f"V7/{name}", goal)
