"""Keys against music21's key signatures and scales; meters against common practice."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.errors import KeyNameError, MeterError
from engine.key import MODES, Key
from engine.meter import Meter
from engine.pitch import Interval, Note

keys = st.builds(
    lambda mode, signature: Key(Note(signature - MODES[mode]), mode),
    st.sampled_from(sorted(MODES)),
    st.integers(-7, 7),
)


@pytest.mark.parametrize("mode", sorted(MODES))
@pytest.mark.parametrize("signature", range(-7, 8))
def test_scales_and_signatures_agree_with_music21(mode: str, signature: int) -> None:
    """All fifteen signatures in all seven modes (reference: music21 key.Key)."""
    from music21 import key as m21

    key = Key(Note(signature - MODES[mode]), mode)
    assert key.signature == signature
    theirs = m21.Key(key.tonic.name.replace("b", "-"), mode)
    assert theirs.sharps == signature
    expected = [p.name.replace("-", "b") for p in theirs.pitches[:7]]
    assert [note.name.replace("x", "##") for note in key.scale] == expected


@given(keys)
def test_a_key_is_read_back_from_its_name(key: Key) -> None:
    assert Key.parse(key.name) == key
    assert Key.parse(key.symbol) == key


@pytest.mark.parametrize(
    ("text", "name"),
    [("Ab", "Ab major"), ("a", "A minor"), ("F#m", "F# minor"), ("bb minor", "Bb minor"),
     ("B♭ Major", "Bb major"), ("d dorian", "D dorian"), ("C aeolian", "C minor"),
     ("eb", "Eb minor")],
)  # fmt: skip
def test_common_ways_to_write_a_key(text: str, name: str) -> None:
    assert Key.parse(text).name == name


@given(keys, st.integers(-11, 11))
def test_a_moved_key_stays_within_seven_accidentals(key: Key, semitones: int) -> None:
    moved = key.moved(Interval.of_semitones(semitones))
    assert abs(moved.signature) <= 7
    assert moved.tonic.pc == (key.tonic.pc + semitones) % 12


@given(keys, st.integers(0, 11))
def test_every_pitch_class_has_one_spelling_and_the_scale_keeps_its_own(key: Key, pc: int) -> None:
    note = key.spell(pc)
    assert note.pc == pc
    assert note in key.scale or all(own.pc != pc for own in key.scale)


def test_degrees_count_letters_and_semitones() -> None:
    key = Key.parse("Ab major")
    assert key.degree(Note.parse("E")) == (5, 1)
    assert key.degree(Note.parse("Fb")) == (6, -1)


@pytest.mark.parametrize("text", ["", "H major", "G# major", "C happy", "7", "Fb major"])
def test_what_is_no_key_is_refused_with_a_cure(text: str) -> None:
    with pytest.raises(KeyNameError) as caught:
        Key.parse(text)
    assert caught.value.cure


@pytest.mark.parametrize(
    ("text", "bar", "beat", "starts"),
    [
        ("4/4", "1", "1/4", ["0", "1/4", "1/2", "3/4"]),
        ("3/4", "3/4", "1/4", ["0", "1/4", "1/2"]),
        ("2/2", "1", "1/2", ["0", "1/2"]),
        ("6/8", "3/4", "3/8", ["0", "3/8"]),
        ("9/8", "9/8", "3/8", ["0", "3/8", "3/4"]),
        ("12/8", "3/2", "3/8", ["0", "3/8", "3/4", "9/8"]),
        ("5/4", "5/4", "1/4", ["0", "3/4"]),
        ("7/8", "7/8", "1/8", ["0", "1/4", "1/2"]),
        ("3+2+2/8", "7/8", "1/8", ["0", "3/8", "5/8"]),
    ],
)
def test_meters_have_their_beats_and_groups(
    text: str, bar: str, beat: str, starts: list[str]
) -> None:
    """Common practice: the beat of 6/8 is a dotted quarter, of 2/2 a half."""
    meter = Meter.parse(text)
    assert meter.bar == Fraction(bar)
    assert meter.beat == Fraction(beat)
    assert list(meter.group_starts) == [Fraction(start) for start in starts]
    assert sum(meter.group_lengths) == meter.bar
    assert Meter.parse(meter.name) == meter


def test_the_middle_of_the_bar() -> None:
    assert Meter.parse("4/4").middle == Fraction(1, 2)
    assert Meter.parse("12/8").middle == Fraction(3, 4)
    assert Meter.parse("3/4").middle is None
    assert Meter.parse("5/4").middle == Fraction(3, 4)


@pytest.mark.parametrize("text", ["", "4", "0/4", "4/3", "four", "40/4", "3+0/8"])
def test_what_is_no_meter_is_refused_with_a_cure(text: str) -> None:
    with pytest.raises(MeterError) as caught:
        Meter.parse(text)
    assert caught.value.cure
