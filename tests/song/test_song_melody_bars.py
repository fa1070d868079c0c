"""A melody's bars against the chart's: pickups, bars too short and too long, and where they stand.

A short first bar is an anacrusis (ABC 2.1 counts on it: a pickup and a shorter last bar are usual
in its tunes); what is a bar is common practice.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine.errors import SongError
from engine.song import SONG, Scope, melody_text, set_melody, set_setting
from engine.song.melody import melody_notes
from engine.song.melody_bars import melody_faults
from tests.reharm.songs import song

BARS = "| C | F | G7 | C |"


def _fault(melody: str, bars: str = BARS) -> SongError | None:
    found = melody_faults(song(bars, melody=melody))
    return found[0][1] if found else None


@pytest.mark.parametrize(
    "melody",
    ["C8 | D8 | E8 | F8 |", "C8 | D8 | E8 | F2", "G2 | C8 | D8 | E6 |", "C8 D8 E8", "| C8 | D8 ||",
     "Z2 | C8 | z8", "|: C4 D4 | (3ccc c2 c4 :| z8 |", "C8- | C8 | D8", "C8 |\\n D8 |\\n E8",
     "Z4", "C>D C>D C4 | [CEG]8 |", "C8 | [M:4/4] D8 | z4 z4 |"],
)  # fmt: skip
def test_bars_that_fill_the_chart_are_no_fault(melody: str) -> None:
    assert _fault(melody) is None


@pytest.mark.parametrize(
    ("melody", "says", "cure", "marked"),
    [
        ("C8 | D6 | E8 |", "bar 2 of the melody lasts 3 beats, and a bar of 4/4 has 4 beats",
         "add the rest z2", "D6"),
        ("C8 | D7 | E8 |", "bar 2 of the melody lasts 3 1/2 beats", "the rest z,", "D7"),
        ("C8 | D4 E4 F | E8 |", "bar 2 of the melody lasts 4 1/2 beats", "1/2 beat", "D4 E4 F"),
        ("C8 D8 | E8 |", "bar 1 of the melody lasts 8 beats", "put a bar line", "C8 D8"),
        ("C8 | D8 | E8 | F8 | G8 |", "goes on after the section’s last bar (4)",
         "add bars to the chart", "G8"),
        ("C8 | D8 | E9", "bar 3 of the melody lasts 4 1/2 beats", "shorten it by 1/2 beat", "E9"),
    ],
)  # fmt: skip
def test_a_bar_that_does_not_fill_the_chart_is_named(
    melody: str, says: str, cure: str, marked: str
) -> None:
    fault = _fault(melody)
    assert fault is not None
    assert says in fault.message
    assert cure in f"{fault.cure},"
    assert fault.place is not None
    begin = fault.place.column - 1
    assert fault.place.text[begin : begin + fault.place.length] == marked


def test_a_fault_is_placed_in_its_line() -> None:
    fault = _fault("C8 | D8 |\\nE4 | F8 |")
    assert fault is not None
    assert fault.place is not None
    assert (fault.place.line, fault.place.column, fault.place.length) == (2, 1, 2)


def test_a_bar_is_measured_by_the_meter_over_it() -> None:
    it = song(BARS, melody="C8 | D8 | E8 | F8 |")
    it = set_setting(it, SONG, "meter", "3/4")
    ((index, fault),) = melody_faults(it)
    assert index == 0
    assert "lasts 4 beats, and a bar of 3/4 has 3 beats" in fault.message


def test_a_pickup_sounds_at_the_end_of_its_bar() -> None:
    onsets = [note.onset for note in melody_notes(song(BARS, melody="G2 | C8 | D8"))]
    assert onsets == [Fraction(3, 4), 1, 2]
    assert [note.onset for note in melody_notes(song(BARS, melody="G2 C6 | D8"))] == [
        0, Fraction(1, 4), 1,
    ]  # fmt: skip


def test_a_typed_melody_is_refused_where_its_bars_do_not_fill_the_chart() -> None:
    with pytest.raises(SongError, match="bar 2 of the melody"):
        set_setting(song(BARS), Scope(section=0), "melody", "C8 | D6 | E8 |")
    edited = set_setting(song(BARS), Scope(section=0), "melody", "G2 | C8 | D8 |")
    assert len(melody_notes(edited)) == 3


def test_a_pickup_is_edited_with_the_rest_before_it() -> None:
    it = song(BARS, melody="G2 | C8 | D8")
    assert melody_text(it, 1, 1) == "z6 G2"
    assert melody_text(it, 1, 2) == "z6 G2 | C8"
    assert melody_notes(set_melody(it, 1, 1, melody_text(it, 1, 1))) == melody_notes(it)
    assert melody_text(song(BARS, melody="G2"), 1, 1) == "G2"
