"""Errors carry their place through larger texts and underline the span."""

from __future__ import annotations

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
