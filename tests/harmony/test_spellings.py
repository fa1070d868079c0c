"""Chords typed from the other side of their key: understood, and the better spelling offered."""

from __future__ import annotations

from functools import lru_cache

import pytest

from engine.chord import Chord, Member, parse_chord
from engine.harmony import ChordReading, Step, read_progression
from engine.key import Key
from engine.pitch import Note
from tests.harmony.progressions import read

#: Every key with up to seven signs.
KEYS = [
    *(Key(Note(fifths), "major") for fifths in range(-7, 8)),
    *(Key(Note(fifths), "minor") for fifths in range(-4, 11)),
]
#: Roots from Fbb to Bx.
ROOTS = [Note(fifths) for fifths in range(-15, 20)]
SUFFIXES = ("", "m", "7", "m7", "maj7", "dim", "dim7", "m7b5", "sus4", "aug", "6", "9")


@lru_cache(maxsize=32)
def _members(suffix: str) -> tuple[Member, ...]:
    return parse_chord(f"C{suffix}").members


def _alone(chord: Chord, key: Key) -> ChordReading:
    return read_progression([Step(chord, key)])[0]


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.short)
def test_a_better_spelling_is_the_same_chord_and_the_last_word(key: Key) -> None:
    """What is offered sounds the same, has a plain root, and nothing better is offered for it."""
    for root in ROOTS:
        for suffix in SUFFIXES:
            chord = Chord(root, _members(suffix))
            better = _alone(chord, key).better_spelling
            if not better:
                continue
            offered = parse_chord(better)
            assert offered.pitch_classes == chord.pitch_classes
            assert abs(offered.root.alter) < 2
            assert max(abs(note.alter) for note in offered.notes) <= 2
            assert not _alone(offered, key).better_spelling, (key.name, chord.symbol, better)


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.short)
def test_the_keys_own_chords_are_offered_in_its_own_notes(key: Key) -> None:
    scale = frozenset(key.scale)
    sounds = {note.pc for note in scale}
    for root in ROOTS:
        for suffix in SUFFIXES:
            chord = Chord(root, _members(suffix))
            if not chord.pitch_classes <= sounds:
                continue
            reading = _alone(chord, key)
            better = reading.better_spelling
            assert bool(better) == (not scale.issuperset(chord.notes)), (key.name, chord.symbol)
            assert scale.issuperset(parse_chord(better).notes if better else chord.notes)
            if better:
                assert "better spelled" in reading.explanation


# Common practice, no source: key, what is typed, what is offered (`-`: nothing).
TYPED = """
Eb major | D# | Eb
Eb major | G#maj7 | Abmaj7
Eb major | A#7/D | Bb7/D
F minor | C# | Db
F minor | G#m | Abm
E major | Gbm7 | F#m7
E major | Abm | G#m
E major | Cb7 | B7
E major | Fb/Ab | E/G#
B major | Ebm7 | D#m7
C major | B# | C
C major | Fb | E
C major | Dbb | C
C major | Bbb/Db | A/C#
Ab major | Bbb | A
Ab major | Gx7 | A7
Ab major | A7 | -
G# minor | Fx°7 | -
G# minor | G°7 | -
C major | C#°7 | -
C major | F#m7b5 | -
A minor | G#dim7 | -
"""


@pytest.mark.parametrize(
    ("key", "typed", "offered"),
    [[part.strip() for part in line.split(" | ")] for line in TYPED.strip().splitlines()],
)
def test_typed_from_the_other_side(key: str, typed: str, offered: str) -> None:
    reading = _alone(parse_chord(typed), Key.parse(key))
    assert reading.better_spelling == ("" if offered == "-" else offered)


def test_the_explanation_tells_a_plain_note_from_the_keys_side() -> None:
    home = Key.parse("Ab major")
    assert "easier to read as A" in _alone(parse_chord("Bbb"), home).explanation
    assert "better spelled D♭" in _alone(parse_chord("C#"), home).explanation


@pytest.mark.parametrize(
    ("key", "chords"), [("Ab major", "G#/D# D#7 G#"), ("F# major", "Gb/Db Db7 Gb")]
)
def test_a_six_four_typed_from_the_other_side_is_cadential(key: str, chords: str) -> None:
    """Common practice, no source: it sounds as the tonic over its fifth, before the dominant."""
    assert [reading.roman for reading in read(key, chords)] == ["Cad64", "V7", "I"]


@pytest.mark.parametrize(
    "after", ["C", "C/E", "C/G", "Cm", "F", "F/A", "G", "G7", "Am", "Eb", "D7"]
)
@pytest.mark.parametrize("kind", ["7", "9", "7b5"])
@pytest.mark.parametrize(("sharp", "flat"), [("C#", "Db"), ("G#", "Ab"), ("A#", "Bb")])
@pytest.mark.parametrize("key", ["C major", "C minor"])
def test_a_dominant_is_read_alike_from_either_side(
    key: str, sharp: str, flat: str, kind: str, after: str
) -> None:
    """So a song that is moved, and respelled in moving, keeps its numerals."""
    one, other = (read(key, f"Cm {root}{kind} {after}")[1].roman for root in (sharp, flat))
    assert one == other
