"""Errors carry their place through larger texts and underline the span."""

from __future__ import annotations

import pytest

from engine.errors import ChordError, Place


def test_a_span_is_underlined_where_it_stands() -> None:
    error = ChordError("“ja7” is wrong", "write maj7", Place(3, 3, text="Cmja7"), "Cmaj7")
    assert error.report() == "“ja7” is wrong; write maj7\n  Cmja7\n    ^^^"  # the span says where
    assert str(error) == "1:3: “ja7” is wrong; write maj7"


def test_a_place_moves_into_the_larger_text() -> None:
    error = ChordError("x", "", Place(3, 3, text="Cmja7"), "Cmaj7")
    moved = error.inside(file="song.toml", line=7, column=5, text="| F Cmja7 |")
    assert moved.place is not None
    assert moved.place.shown() == "song.toml:7:7"
    assert moved.suggestion == "Cmaj7"
    assert moved.report().splitlines()[-1].index("^") == 2 + 6


@pytest.mark.parametrize("column", [1, 100, 297, 300])
def test_of_a_long_line_the_part_around_the_span_is_shown(column: int) -> None:
    text = f"{'a' * (column - 1)}XYZ{'b' * 300}"[:302]
    line, marks = Place(column, 900, text=text).underlined().split("\n")
    assert len(line) <= 2 + 160
    assert line[marks.index("^")] == "X"
    assert len(marks) <= len(line)
    assert line.startswith("  …") == (column > 61)
    assert line.endswith("…") == (column < 200)
