"""A melody typed bar by bar: what is written is what sounds, in its bars and no others."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import SongError
from engine.song import Song, melody_text, on_one_line, read_song, set_melody, write_song
from engine.song.melody import melody_notes

SONG = """format = 1
title = "Sung"
key = "{key}"
meter = "{meter}"
tempo = 80

[[section]]
name = "A"
chart = "| C | Am | F | G |"
{melody}

[[section]]
name = "B"
chart = "| C | F |"
"""


def song(melody: str = "", key: str = "C major", meter: str = "4/4") -> Song:
    line = f'melody = """{melody}"""' if melody else ""
    return read_song(SONG.format(key=key, meter=meter, melody=line))


def sung(song: Song) -> list[tuple[Fraction | int, str]]:
    """Onset in whole notes and pitch of every melody note."""
    return [(note.onset, note.pitch.name) for note in melody_notes(song)]


def test_a_first_note_in_a_later_bar_is_led_up_to_by_rests() -> None:
    """ABC 2.1, 4.1: C is middle C, an eighth by default in 4/4; c is an octave above."""
    edited = set_melody(song(), 3, 3, "C2 E2 c4")
    assert sung(edited) == [(Fraction(2), "C4"), (Fraction(9, 4), "E4"), (Fraction(5, 2), "C5")]
    assert melody_text(edited, 3, 3) == "C2 E2 c4"
    assert melody_text(edited, 1, 1) == melody_text(edited, 4, 4) == ""


def test_a_short_bar_is_filled_with_rest_and_the_next_bar_stays_in_place() -> None:
    edited = set_melody(song("C8 | E8 | G8 | c8 |"), 2, 2, "F2")
    assert sung(edited) == [(0, "C4"), (1, "F4"), (2, "G4"), (3, "C5")]
    assert melody_text(edited, 2, 2) == "F2 z6"


def test_nothing_typed_takes_the_bar_out_and_the_last_note_the_melody() -> None:
    edited = set_melody(song("C8 | E8 |"), 1, 1, "")
    assert sung(edited) == [(1, "E4")]
    assert set_melody(edited, 2, 2, " ").sections[0].melody is None


def test_accidentals_hold_to_the_bar_line_only() -> None:
    """ABC 2.1, 4.2: an accidental applies to notes of its pitch until the end of the bar."""
    edited = set_melody(song("F8 | F8 | F8 |", key="G major"), 2, 2, "=F4 F4")
    assert [name for _, name in sung(edited)] == ["F#4", "F4", "F4", "F#4"]


def test_a_bar_keeps_the_unit_length_that_holds_there() -> None:
    edited = set_melody(song("L:1/4\nC4 | E4 |"), 2, 2, "G A B c")
    assert [onset for onset, _ in sung(edited)][1:] == [1, Fraction(5, 4), Fraction(3, 2),
                                                       Fraction(7, 4)]  # fmt: skip
    assert edited.sections[0].melody == "L:1/4\nC4 | G A B c |"


def test_several_bars_are_parted_by_bar_lines() -> None:
    edited = set_melody(song(), 1, 3, "C8- | C4 D4 | E8")
    assert sung(edited) == [(0, "C4"), (Fraction(3, 2), "D4"), (2, "E4")]
    assert melody_text(edited, 1, 2) == "C8- | C4 D4"


@pytest.mark.parametrize(
    ("first", "last", "text", "says", "marked"),
    [
        (1, 1, "C4 E4 G2", "bar 1 is one beat too long", "G"),
        (1, 1, "C4 H4", "“H4”|“4”|no part of a melody", None),
        (2, 2, "C4 ?", "“?” is no part of a melody", "?"),
        (1, 2, "C8 | D8 E2", "bar 2 is one beat too long", "E"),
        (1, 1, "C8 | D8", "2 bars of melody for 1", None),
        (1, 1, "C8 [w:so | long", "the words’ bracket is open", "[w:"),
        (4, 5, "C8", "two sections", None),
    ],
)
def test_what_cannot_be_taken_is_said_with_its_place(
    first: int, last: int, text: str, says: str, marked: str | None
) -> None:
    with pytest.raises(SongError) as raised:
        set_melody(song("L:1/8\nc8 | c8 |"), first, last, text)
    assert re.search("|".join(re.escape(each) for each in says.split("|")), raised.value.message)
    place = raised.value.place
    if marked is not None:
        assert place is not None
        assert text[place.column - 1 : place.column - 1 + place.length] == marked


def test_a_note_held_over_a_bar_line_untied_is_named() -> None:
    with pytest.raises(SongError, match="over the bar line at bar 2"):
        set_melody(song("C12 D4 | E8 |"), 2, 2, "G8")


def test_a_pickup_is_typed_where_it_sounds_and_stays_there() -> None:
    """ABC 2.1 counts on a short first bar; it sounds at the end of its bar."""
    tune = song("G2 | c8 | d8 |")
    assert sung(tune)[0] == (Fraction(3, 4), "G4")
    assert melody_text(tune, 1, 1) == "z6 G2"
    assert melody_text(tune, 1, 2) == "z6 G2 | c8"
    assert sung(set_melody(tune, 1, 1, melody_text(tune, 1, 1))) == sung(tune)
    assert melody_text(song("C4 E2"), 1, 1) == "C4 E2"


def test_a_melody_of_several_lines_is_typed_on_one_and_sounds_the_same() -> None:
    """ABC 2.1, 3.1: a field may stand on a line of its own or, in brackets, in the music."""
    text = "L:1/4\nC2 D2 |  % so far\nK:G\nF4 |\n"
    line = on_one_line(text)
    assert line == "[L:1/4] C2 D2 | [K:G] F4 |"
    assert sung(song(line)) == sung(song(text))


def test_fields_hold_where_they_stood_whatever_is_typed_over_them() -> None:
    tune = song("L:1/4\nC2 D2 | [K:G] F4 | [CEG]4 | F2 [L:1/8] F4 |\n")
    assert melody_text(tune, 1, 1) == "C2 D2"
    assert melody_text(tune, 2, 3) == "F4 | [CEG]4"
    assert melody_text(tune, 3, 4) == "[CEG]4 | F2 [L:1/8] F4"
    for first, last in ((1, 1), (2, 2), (2, 3), (1, 4)):
        same = set_melody(tune, first, last, melody_text(tune, first, last))
        assert sung(same) == sung(tune)
    gone = set_melody(set_melody(tune, 1, 1, ""), 2, 2, "")
    assert sung(gone) == [note for note in sung(tune) if note[0] >= 2]


def test_a_melody_without_a_last_bar_line_goes_on_behind_one() -> None:
    assert sung(set_melody(song("C8"), 2, 2, "^F4 F4"))[1:] == [(1, "F#4"), (Fraction(3, 2), "F#4")]
    assert set_melody(song("C8"), 2, 2, "E8").sections[0].melody == "C8 | E8 |"


NOTES = st.lists(st.sampled_from("CDEFGABcde"), min_size=1, max_size=8).map("".join)


@given(st.integers(1, 6), NOTES, st.integers(1, 6), NOTES)
@settings(deadline=None, max_examples=60)
def test_a_bar_typed_sounds_there_leaves_the_others_and_survives_its_file(
    one: int, first: str, other: int, second: str
) -> None:
    edited = set_melody(set_melody(song(), one, one, first), other, other, second)
    bars = {one: first} | {other: second}
    expected = [
        (Fraction(number - 1) + Fraction(at, 8), letter.upper())
        for number, letters in sorted(bars.items())
        for at, letter in enumerate(letters)
    ]
    assert [(onset, name[0]) for onset, name in sung(edited)] == expected
    assert read_song(write_song(edited)) == edited
