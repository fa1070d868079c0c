"""Loops of bars, from beat to beat, and on to the next: typed, shown, kept inside the song."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.part import Part, PartNote, Role
from engine.pitch import Pitch
from engine.song import Hand, Song, read_song
from engine.workshop import Loop, fitted, loop_text, span
from engine.workshop.loop import typed_loop


def song(bars: int, meter: str = "4/4") -> Song:
    chart = " | ".join(["C"] * bars)
    return read_song(
        f'format = 1\nkey = "C major"\nmeter = "{meter}"\ntempo = 80\n'
        f'[[section]]\nname = "A"\nchart = "| {chart} |"\n'
    )


@pytest.mark.parametrize(
    ("meter", "text", "start", "end", "shown"),
    [
        ("4/4", "2", "1", "2", "2"),
        ("4/4", "2-3", "1", "3", "2–3"),
        ("4/4", "2.3-3.2", "3/2", "5/2", "2.3–3.2"),
        ("4/4", "2.3", "3/2", "2", "2.3–2.4"),
        ("4/4", "2.2-2.2", "5/4", "3/2", "2.2–2.2"),
        ("4/4", "2-3.4", "1", "3", "2–3"),  # beat 4 is the bar's last
        ("3/4", "1.3-2.1", "1/2", "1", "1.3–2.1"),
        ("6/8", "1.2-2.1", "3/8", "9/8", "1.2–2.1"),  # two beats a bar
    ],
)
def test_what_is_typed_is_looped_and_shown(
    meter: str, text: str, start: str, end: str, shown: str
) -> None:
    piece = song(4, meter)
    loop = typed_loop(text, piece)
    assert span(loop, piece) == (Fraction(start), Fraction(end))
    assert loop_text(loop, piece) == shown
    assert typed_loop(shown, piece) == loop


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "no loop"),
        ("chorus", "no loop"),
        ("0", "bars 1 to 4"),
        ("3-5", "bars 1 to 4"),
        ("3-2", "bars 1 to 4"),
        ("2.5-3", "beats are 1 to 4"),
        ("2.3-2.1", "ends before it begins"),
    ],
)
def test_what_is_no_loop_says_why(text: str, why: str) -> None:
    with pytest.raises(InputError) as caught:
        typed_loop(text, song(4))
    assert why in str(caught.value)


def test_a_link_goes_on_to_the_first_note_of_the_next_bar() -> None:
    """Practising a passage on to the first note of the next joins the two: common practice."""
    piece = song(3)
    eighth = Fraction(1, 8)
    notes = tuple(
        PartNote(1 + n // 8, Hand.RIGHT, Pitch.parse("C4"), n * eighth, eighth, Role.CHORD)
        for n in range(24)
    )
    part = Part(notes, (), (), (), ())
    link = Loop(1, 2, link=True)
    assert span(link, piece, part) == (Fraction(0), 2 + eighth)
    assert span(link, piece) == (Fraction(0), Fraction(2))  # no part yet
    assert loop_text(link, piece) == "1–2 → 3"
    assert span(Loop(1, 3, link=True), piece, part) == (Fraction(0), Fraction(3))


loops = st.builds(
    Loop,
    st.integers(1, 6),
    st.integers(1, 6),
    st.integers(0, 6).map(lambda n: Fraction(n, 4)),
    st.none() | st.integers(1, 6).map(lambda n: Fraction(n, 4)),
    st.booleans(),
).filter(lambda loop: loop.first <= loop.last)


@settings(deadline=None, max_examples=80)
@given(loops, st.integers(1, 6), st.sampled_from(["4/4", "3/4", "2/4"]))
def test_in_any_song_a_loop_lasts_and_lies_inside(loop: Loop, bars: int, meter: str) -> None:
    """However the song was cut or its meter changed, the player gets a stretch or nothing."""
    piece = song(bars, meter)
    kept = fitted(loop, piece)
    assert (kept is None) == (loop.first > bars)
    if kept is not None:
        start, end = span(loop, piece)
        assert 0 <= start < end <= piece.end
        assert fitted(kept, piece) == kept
        assert loop_text(loop, piece)
