"""Spelled pitch against music21's pitches and intervals (PyPI package, an outside reference)."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from engine.errors import PitchError
from engine.pitch import Interval, Note, Pitch, spelled_near

notes = st.integers(-15, 19).map(Note)
octaves = st.integers(0, 8)
pitches = st.builds(Pitch, notes, octaves)
plain_intervals = st.sampled_from(
    [f"{sign}{name}" for sign in ("", "-") for name in
     ("P1", "m2", "M2", "m3", "M3", "P4", "A4", "d5", "P5", "m6", "M6", "d7", "m7", "M7", "P8",
      "m9", "M9", "P11", "M13", "A2", "A5", "A6")]
)  # fmt: skip


def _m21_name(note: Note) -> str:
    return note.letter + ("#" * note.alter if note.alter > 0 else "-" * -note.alter)


@given(pitches)
@settings(deadline=None, max_examples=200)
def test_midi_number_and_name_agree_with_music21(pitch: Pitch) -> None:
    from music21 import pitch as m21

    theirs = m21.Pitch(f"{_m21_name(pitch.note)}{pitch.octave}")
    assert theirs.ps == pitch.midi
    assert Pitch.parse(pitch.name) == pitch
    assert Pitch.parse(pitch.symbol) == pitch


@given(pitches, plain_intervals)
@settings(deadline=None, max_examples=200)
def test_transposing_agrees_with_music21(pitch: Pitch, name: str) -> None:
    from music21 import interval as m21_interval
    from music21 import pitch as m21

    moved = pitch + Interval.parse(name)
    number = name.lstrip("-")
    downwards = name.startswith("-") and number != "P1"
    theirs = m21_interval.Interval(f"{number[0]}-{number[1:]}" if downwards else number)
    start = m21.Pitch(f"{_m21_name(pitch.note)}{pitch.octave}")
    assume(abs(moved.note.alter) <= 3)
    expected = theirs.transposePitch(start, maxAccidental=None)
    assert moved.midi == expected.ps
    assert _m21_name(moved.note) == expected.name


@given(pitches, plain_intervals)
def test_an_interval_and_its_negative_cancel(pitch: Pitch, name: str) -> None:
    interval = Interval.parse(name)
    assert pitch + interval + -interval == pitch
    assert pitch.to(pitch + interval) == interval
    assert Interval.parse(interval.name) == interval


@given(notes, notes)
def test_the_interval_between_two_notes_leads_from_one_to_the_other(low: Note, high: Note) -> None:
    assert low + low.to(high) == high
    assert 0 <= low.to(high).steps < 7


@given(notes, st.integers(0, 100))
def test_at_or_above_is_the_lowest_such_pitch(note: Note, midi: int) -> None:
    pitch = Pitch.at_or_above(note, midi)
    assert pitch.note == note
    assert midi <= pitch.midi < midi + 12


@given(notes, st.integers(10, 100))
def test_near_is_within_half_an_octave(note: Note, midi: int) -> None:
    assert abs(Pitch.near(note, midi).midi - midi) <= 6


@given(st.integers(0, 11), st.integers(-7, 7))
def test_spelling_near_a_tonic_keeps_within_flat_two_and_sharp_four(pc: int, tonic: int) -> None:
    """Window of ps13 (Meredith 2006, JNMR 35(2))."""
    note = spelled_near(pc, tonic)
    assert note.pc == pc
    assert -5 <= note.fifths - tonic <= 6


def test_middle_c_and_concert_a() -> None:
    """General MIDI: middle C is 60, A above it 69; C4 by ASA octave names."""
    assert Pitch.parse("C4").midi == 60
    assert Pitch.parse("A4").midi == 69
    assert Pitch.parse("B#3").midi == 60
    assert Pitch.parse("Cb4").midi == 59


@pytest.mark.parametrize("text", ["", "H", "c", "C####", "Cbx", "4", "C4"])
def test_what_is_no_note_name_is_refused_with_a_cure(text: str) -> None:
    with pytest.raises(PitchError) as caught:
        Note.parse(text)
    assert caught.value.cure
    assert caught.value.place is not None


@pytest.mark.parametrize("text", ["", "P3", "M5", "X3", "m0", "AAA4", "100"])
def test_what_is_no_interval_is_refused_with_a_cure(text: str) -> None:
    with pytest.raises(PitchError) as caught:
        Interval.parse(text)
    assert caught.value.cure


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("P1", "a unison"), ("m3", "a minor third"), ("P5", "a fifth"),
        ("A4", "an augmented fourth"), ("P8", "an octave"),
        ("M9", "an octave and a major second"), ("P12", "an octave and a fifth"),
        ("P15", "two octaves"), ("m17", "two octaves and a minor third"), ("-m6", "a minor sixth"),
    ],
)  # fmt: skip
def test_sizes_in_words(name: str, words: str) -> None:
    assert Interval.parse(name).words == words


@pytest.mark.parametrize(
    ("semitones", "name"), [(0, "P1"), (3, "m3"), (6, "A4"), (12, "P8"), (-2, "-M2"), (14, "M9")]
)
def test_usual_names_of_semitones(semitones: int, name: str) -> None:
    assert Interval.of_semitones(semitones).name == name
    assert Interval.parse(str(semitones)).semitones == semitones
