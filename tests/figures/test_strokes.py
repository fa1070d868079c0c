"""A stroke in a figure: a chord that changes there goes on with what follows."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine.arrange import arrange
from engine.figures import fit, over_changes, parse_figure
from engine.harmony import analyse
from engine.meter import Meter
from engine.song import Hand, read_song

F = Fraction
HALVES = ((F(0), F(1, 2)), (F(1, 2), F(1, 2)))
QUARTERS = ((F(0), F(1, 4)), (F(1, 4), F(3, 4)))


def texts(text: str, spans: tuple[tuple[Fraction, Fraction], ...], meter: str = "4/4") -> list[str]:
    rows = over_changes(parse_figure(text, Hand.RIGHT), Meter.parse(meter), spans)
    return [" ".join(slot.text for slot in row) for row in rows]


def test_a_change_restarts_the_figure_but_not_at_a_stroke() -> None:
    assert texts("1 2 3 p 3 2 1 2", HALVES) == ["1 2 3 p", "1 2 3 p"]
    assert texts("1 2 3 p | 3 2 1 2", HALVES) == ["1 2 3 p", "3 2 1 2"]
    assert texts("1 2 3 p | 3 2 1 2", QUARTERS) == ["1 2", "1 2 3 p 3 2"]
    assert texts("1 2 3 4 | x x 1 2", HALVES) == ["1 2 3 4", "x x 1 2"]


def test_a_stroke_stays_where_it_is_when_slots_are_divided() -> None:
    thirds = ((F(0), F(1, 4)), (F(1, 4), F(1, 4)), (F(1, 2), F(1, 4)))
    assert texts("1 2 | 3", thirds, "3/4") == ["1", "1", "3"]
    fitted = fit(parse_figure("1 | 3", Hand.RIGHT), Meter.parse("4/4"))
    assert fitted.text == "1 . | 3 ."
    assert texts("1 | 3", HALVES) == ["1 .", "3 ."]


@pytest.mark.parametrize("text", ["1 2 | 3 2", "1 | 2 | 3 | 2", "R . | 5 R"])
def test_strokes_are_written_as_they_are_read(text: str) -> None:
    hand = Hand.LEFT if "R" in text else Hand.RIGHT
    assert parse_figure(text, hand).text == text


def test_strokes_at_the_ends_say_nothing() -> None:
    assert parse_figure("| 1 2 3 2 |", Hand.RIGHT) == parse_figure("1 2 3 2", Hand.RIGHT)


def test_a_part_follows_the_stroke() -> None:
    song = read_song(
        'format = 1\ntitle = "Stile"\nkey = "C major"\nmeter = "4/4"\ntempo = 80\n'
        "busy = 0.0\noutside = 0.0\ndoubling = 0.0\nanticipation = 0.0\n"
        'left = "R . . ."\n[[section]]\nname = "A"\nchart = "| C F | C |"\n'
        '[section.bar.1]\nright = "1 2 3 2 | 3 2 1 2"\n'
    )
    part = arrange(song, analyse(song))
    second = [
        note.pitch.midi
        for note in part.notes
        if note.bar == 1 and note.hand is Hand.RIGHT and note.onset >= F(1, 2)
    ]
    shape = part.shapes[1].pitches
    assert second == [shape[at].midi for at in (2, 1, 0, 1)]
