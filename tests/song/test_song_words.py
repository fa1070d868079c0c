"""Words under a melody, as ABC 2.1 aligns them, and kept whatever is done to the melody."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import SongError
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Interval
from engine.song import (
    Scope,
    Song,
    delete_bars,
    in_lines,
    insert_bars,
    melody_text,
    on_one_line,
    read_song,
    set_melody,
    set_setting,
    split_section,
    transpose,
    write_song,
)
from engine.song.abc import MOST_VERSES, read_abc
from engine.song.abc_value import AbcMusic
from engine.song.abc_words import with_words, without_words, words_of
from engine.song.melody import melody_notes
from engine.song.melody_bars import melody_faults
from engine.song.syllables import HELD, Syllable, Words

C, FOUR = Key.parse("C major"), Meter.of(4, 4)
SONG = """format = 1
title = "Spoken"
key = "C major"
meter = "4/4"

[[section]]
name = "A"
chart = "| C | Am | F | G |"
melody = \"\"\"
C4 D4 | E2 F2 G2 A2 |
w: Night on | ri-ver_ wa- |
A4 G4 | F8 |
w: ter and | stone |
\"\"\"
"""


def read(text: str) -> AbcMusic:
    return read_abc(text, C, FOUR)


def said(text: str, verse: int = 0) -> list[str | None]:
    """The syllables of the notes, hyphens where a word goes on, `_` where one is held."""
    out: list[str | None] = []
    for words in words_of(read(text)):
        each = words[verse] if verse < len(words) else None
        out.append(None if each is None else (each.text or "_") + "-" * each.goes_on)
    return out


def sung(song: Song) -> list[str | None]:
    found = [note.words[0] if note.words else None for note in melody_notes(song)]
    return [None if each is None else each.text or "_" for each in found]


@pytest.mark.parametrize(
    ("words", "syllables"),
    [
        # the standard's own examples
        ("syll-a-ble", ["syll-", "a-", "ble", None]),
        ("syll-a--ble", ["syll-", "a-", "_", "ble"]),
        ("syll-a -ble", ["syll-", "a-", "_", "ble"]),
        ("time__", ["time", "_", "_", None]),
        ("of~the~day", ["of the day", None, None, None]),
        # its table of signs
        ("one * three", ["one", None, "three", None]),
        (r"half\-way up", ["half-way", "up", None, None]),
        ("some-_ where", ["some-", "_", "where", None]),
        ("a b c d % e", ["a", "b", "c", "d"]),
    ],
)
def test_syllables_are_aligned_as_the_standard_says(
    words: str, syllables: list[str | None]
) -> None:
    """ABC 2.1, section 5.1 (Alignment)."""
    assert said(f"CDEF|\nw: {words}") == syllables


def test_a_bar_line_goes_on_to_the_next_bar() -> None:
    """ABC 2.1, 5.1: `|` advances to the next bar; if there are enough syllables it is ignored."""
    notes = "C4 D4 | E4 F4 | z8 | G8 |"
    assert said(f"{notes}\nw: a | b c | | d") == ["a", None, "b", "c", "d"]
    assert said(f"{notes}\nw: a b | c d | e") == ["a", "b", "c", "d", "e"]
    assert said(f"{notes}\nw:| b") == [None, None, "b", None, None]
    assert said(f"|: {notes}\nw: | b") == [None, None, "b", None, None]


def test_rests_and_grace_notes_have_no_syllable_and_tied_notes_have_two() -> None:
    """ABC 2.1, 5.1: not aligned on rests and grace notes; tied notes are separate."""
    assert said("C2 z2 {d}D2 [EG]2- | [EG]8 |\nw: a b c d") == ["a", "b", "c", "d"]


def test_words_belong_to_the_line_before() -> None:
    """ABC 2.1, 5.1: always aligned to the beginning of the music line before."""
    assert said("C4 D4 |\nE4 F4 |\nw: a b\nG8 |\nw: c") == [None, None, "a", "b", "c"]
    assert said("C4 D4 | \\\nE4 F4 |\nw: a b c d") == ["a", "b", "c", "d"]
    assert said("C4 D4 |\nw: a\n+: b\nE8 |\n") == ["a", "b", None]


def test_a_word_goes_on_in_the_next_line() -> None:
    first, second = words_of(read("C8 |\nw: wa-\nD8 |\nw: ter"))
    assert first == (Syllable("wa", goes_on=True),)
    assert second == (Syllable("ter", joined=True),)
    assert [each.syllabic for (each,) in (first, second) if each] == ["begin", "end"]


def test_several_lines_of_words_are_verses() -> None:
    """ABC 2.1, 5.2 (Verses)."""
    text = "C4 D4 |\nw: a b\nw: * d\n"
    assert said(text) == ["a", "b"]
    assert said(text, verse=1) == [None, "d"]
    many = read("C4 D4 |\n" + "w: a b\n" * 40)
    assert max(map(len, words_of(many))) == MOST_VERSES
    assert many.left == (f"verses after {MOST_VERSES}",)


def test_a_tie_takes_the_words_of_both_notes() -> None:
    held = SONG.replace("A4 G4 | F8", "A4 F4- | F8").replace("ter and | stone", "ter stone | _")
    assert sung(read_song(held))[-2:] == ["ter", "stone"]


def test_more_syllables_than_notes_are_cautioned_of_with_their_place() -> None:
    it = read_song(SONG.replace("| stone |", "| stone so cold |"))
    ((index, fault),) = melody_faults(it)
    assert index == 0
    assert "“so” has none" in fault.message
    assert fault.place is not None
    row, column = fault.place.text, fault.place.column
    assert row[column - 1 : column + 1] == "so"
    assert sung(it) == sung(read_song(SONG))


def test_typed_words_are_read_with_the_bar() -> None:
    song = read_song(SONG)
    assert melody_text(song, 2, 2) == "E2 F2 G2 A2 [w:ri-ver_ wa-]"
    edited = set_melody(song, 2, 2, "E4 G4 [w:deep wa-]")
    assert sung(edited) == ["Night", "on", "deep", "wa", "ter", "and", "stone"]
    assert "w: ter and | stone |\n" in (edited.sections[0].melody or "")  # as it was typed
    with pytest.raises(SongError, match="“much” has none") as raised:
        set_melody(song, 2, 2, "E4 G4 [w:deep wa- much]")
    assert raised.value.place is not None
    assert raised.value.place.column == len("E4 G4 [w:deep wa- ") + 1


def test_a_typed_bar_without_words_takes_no_other_bars_words() -> None:
    edited = set_melody(read_song(SONG), 2, 2, "E2 D2 C2 E2")
    assert sung(edited) == ["Night", "on", None, None, None, None, "ter", "and", "stone"]


def test_bars_put_in_taken_out_and_parted_keep_words_under_their_notes() -> None:
    song = read_song(SONG)
    assert sung(insert_bars(song, 2, ("Dm",))) == sung(song)
    without = delete_bars(song, 2, 2)
    assert sung(without) == ["Night", "on", "ter", "and", "stone"]
    parted = split_section(song, 3, "B")
    assert sung(parted) == sung(song)
    assert parted.sections[1].melody == "A4 G4 | F8 |\nw: ter and | stone |\n"


def test_words_stay_as_they_are_typed_in_another_key() -> None:
    moved = transpose(read_song(SONG), Interval(1, 2))
    assert sung(moved) == sung(read_song(SONG))
    assert "w: Night on | ri-ver_ wa- |\n" in write_song(moved)


def test_all_the_melody_is_typed_on_one_line_and_kept_in_lines() -> None:
    melody = read_song(SONG).sections[0].melody or ""
    line = on_one_line(melody)
    assert line.startswith("C4 D4 | E2 F2 G2 A2 | [w: Night on | ri-ver_ wa- |] A4")
    assert words_of(read(line)) == words_of(read(melody))
    assert in_lines(line).split() == melody.split()
    typed = set_setting(read_song(SONG), Scope(section=0), "melody", in_lines(line))
    assert sung(typed) == sung(read_song(SONG))


SYLLABLES = st.builds(
    Syllable,
    st.text("abcdeéß'-,. ", min_size=1, max_size=6).filter(
        lambda t: t == " ".join(t.split()) != ""
    ),
)
WORDS = st.lists(st.one_of(st.none(), st.just(HELD), SYLLABLES), min_size=9, max_size=9)


@settings(deadline=None, max_examples=60)
@given(WORDS, WORDS)
def test_words_written_under_notes_are_read_again(
    one: list[Syllable | None], other: list[Syllable | None]
) -> None:
    bare = "C4 D4 | z4 E4 |\nF8 | z8 |\nG2 A2 B2 c2- | c8 |\n"
    words: list[Words] = list(zip(one, other, strict=True))
    text = with_words(bare, C, FOUR, words)
    found = words_of(read(text))
    padded = [(*each, None, None)[:2] for each in found]
    assert padded == [(a, b) for a, b in words]
    assert without_words(text) == bare
    assert with_words(bare, C, FOUR, found, text) == text
