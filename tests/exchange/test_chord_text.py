"""Chord text in the shapes people type it, and back out: nothing of it is dropped unsaid."""

from __future__ import annotations

import pytest

from engine.errors import AlbertiError
from engine.exchange import Imported, Sure, chord_text, import_bytes
from engine.song import Song, read_song


def read(text: str) -> Imported:
    return import_bytes(text.encode(), "page.txt")


def bars(song: Song) -> list[str]:
    return [" ".join(slot.typed for slot in bar.slots) for bar in song.bars]


def left(imported: Imported) -> list[str]:
    return [line.text for line in imported.report.lines if line.sure is Sure.LEFT]


@pytest.mark.parametrize(
    "line",
    [
        "[Verse] C | Am F | G7",
        "Verse: | C | Am F | G7 |",
        "Verse - | C | Am F | G7 |",
        "[Verse]\n| C | Am F | G7 |",
        "Verse:\n| C | Am F | G7 |",
        "{c: Verse}\n| C | Am F | G7 |",
        "[Verse]:\n|: C | Am F | G7 |",
    ],
)
def test_a_section_and_its_bars(line: str) -> None:
    imported = read(line)
    assert [section.name for section in imported.song.sections] == ["Verse"]
    assert bars(imported.song) == ["C", "Am F", "G7"]
    assert left(imported) == []


@pytest.mark.parametrize("heading", ["Chorus x2:", "[Chorus x2]", "[Chorus (2x)]", "Chorus (x2):"])
def test_a_heading_may_say_how_often(heading: str) -> None:
    song = read(f"{heading}\n| C | F |\n[End]\n| G |").song
    assert [section.name for section in song.sections] == ["Chorus", "End"]
    assert bars(song) == ["C", "F", "C", "F", "G"]


@pytest.mark.parametrize(
    "line", ["| C | F | (x2)", "| C | F | x2", "| C | F | (2x)", "|: C | F :|"]
)
def test_a_line_may_say_how_often(line: str) -> None:
    assert bars(read(line).song) == ["C", "F"] * 2


def test_repeats_silence_and_strokes_inside_bars() -> None:
    song = read("| C . F . | % | N.C. | G / / D7 |").song
    assert bars(song) == ["C F", "C F", "N.C.", "G D7"]
    assert [float(slot.onset * 4) for slot in song.bars[3].slots] == [0, 3]


def test_open_bars_stay_open() -> None:
    imported = read("| C | ? | F ? | ? . G . | ? |\n")
    assert bars(imported.song) == ["C", "?", "F ?", "? G", "?"]
    assert left(imported) == []
    again = read(chord_text(imported.song))
    assert bars(again.song) == bars(imported.song)


def test_words_among_bars_are_told_and_the_chord_goes_on() -> None:
    imported = read("| Em | la la la | D |")
    assert bars(imported.song) == ["Em", "Em", "D"]
    assert left(imported) == ["the words “la la la” in a bar, which keeps the chord before"]


def test_words_under_chords_are_told_where_they_stand() -> None:
    imported = read("| C |\nG    D/F#\nWalking home\n| Em |")
    assert bars(imported.song) == ["C", "G", "D/F#", "Em"]
    found = [(line.bar, line.text) for line in imported.report.lines if line.sure is Sure.LEFT]
    assert found == [(2, "the words “Walking home”")]


def test_a_line_of_words_and_chords_is_quoted() -> None:
    assert left(read("| C |\nAm Bm words that stay C")) == [
        "the words “Am Bm words that stay C”"
    ]  # fmt: skip


def test_header_lines() -> None:
    imported = read("Hollow Road\nCapo 2\nKey: Em\nTime: 3/4\nTempo: 96\n| Em | C |")
    song = imported.song
    assert (song.title, song.key.name, song.meter.name, song.tempo) == (
        "Hollow Road", "E minor", "3/4", 96,
    )  # fmt: skip
    assert left(imported) == ["capo 2: the chords are read as written"]


def test_one_line_a_section() -> None:
    song = read("Verse: C Am F G\nChorus: F G C C\n").song
    assert [section.name for section in song.sections] == ["Verse", "Chorus"]
    assert bars(song) == ["C", "Am", "F", "G", "F", "G", "C", "C"]


def test_what_is_written_is_read_back() -> None:
    song = read_song(
        'format = 1\ntitle = "Stile"\nkey = "F minor"\nmeter = "3/4"\ntempo = 66\n'
        '[[section]]\nname = "Verse"\nchart = "| Fm | Bbm . C7 | Db Eb7 Ab | N.C. |"\n'
        '[[section]]\nname = "Chorus"\nchart = "| Dbmaj7 | (C7 .) . Fm | % | Fm |"\n'
    )
    back = read(chord_text(song)).song
    assert (back.title, back.key, back.meter, back.tempo) == (
        song.title, song.key, song.meter, song.tempo,
    )  # fmt: skip
    assert [section.name for section in back.sections] == ["Verse", "Chorus"]

    def sounding(of: Song) -> list[list[tuple[float, str]]]:
        return [
            [(float(s.onset), s.chord.symbol if s.chord else "N.C.") for s in bar.slots]
            for bar in of.bars
        ]

    assert sounding(back) == sounding(song)


def test_a_page_without_chords_is_refused() -> None:
    with pytest.raises(AlbertiError, match="no line of it is made of chords"):
        read("Once upon a time\nthere was a road")


def test_a_letter_in_brackets_over_bars_names_a_section() -> None:
    """`[A]` alone is a chord over words only where no bar lines stand in the text."""
    barred = import_bytes(b"[A]\n| D | G |\n\n[B]\n| Bm | A |\n", "a.txt").song
    assert [section.name for section in barred.sections] == ["A", "B"]
    assert len(barred.bars) == 4
    plain = import_bytes(b"[A]\n[D]home [A]again\n", "a.txt").song
    assert [bar.slots[0].typed for bar in plain.bars] == ["A", "D", "A"]


@pytest.mark.parametrize(
    ("text", "names", "expected"),
    [
        ("[A] | C | F G |\n[B] |: G7 | C :|", ["A", "B"], ["C", "F G", "G7", "C", "G7", "C"]),
        ("A: | C | F G |\nB': | G7 |", ["A", "B'"], ["C", "F G", "G7"]),
        ("[A] C | F G |\n[A2]\n| G7 |", ["A", "A2"], ["C", "F G", "G7"]),
        ("A | C | F G |", ["Part 1"], ["A", "C", "F G"]),
        ("A - | C - |", ["Part 1"], ["A", "C"]),
    ],
)
def test_a_letter_before_bars_names_a_section(
    text: str, names: list[str], expected: list[str]
) -> None:
    song = read(text).song
    assert [section.name for section in song.sections] == names
    assert bars(song) == expected


@pytest.mark.parametrize(
    ("meter", "line", "expected"),
    [
        ("6/8", "Bm Bm G A |", ["Bm", "Bm", "G", "A"]),
        ("6/8", "| Bm Bm G A |", ["Bm", "Bm", "G", "A"]),
        ("6/8", "Bm G A |", ["Bm", "G", "A"]),
        ("6/8", "| Bm G A |", ["Bm G A"]),  # a quarter each
        ("6/8", "| Bm G | D A |", ["Bm G", "D A"]),
        ("6/8", "| Bm | G A | D G A D", ["Bm", "G A", "D G A D"]),
        ("3/4", "C Am F G |", ["C", "Am", "F", "G"]),
        ("4/4", "C Am F G |", ["C Am F G"]),
        ("4/4", "| C Am F G C |", ["C", "Am", "F", "G", "C"]),
        ("2/2", "| C Am F G |", ["C Am F G"]),
        ("6/8", "Bm Bm G A | x2", ["Bm", "Bm", "G", "A"] * 2),
    ],
)
def test_a_line_of_more_chords_than_a_bar_holds_is_a_bar_a_chord(
    meter: str, line: str, expected: list[str]
) -> None:
    imported = read(f"Time: {meter}\n{line}\n")
    assert [bar.split() for bar in bars(imported.song)] == [bar.split() for bar in expected]
    guessed = [line.text for line in imported.report.lines if line.sure is Sure.GUESSED]
    loose = len(expected) > 2 and not any(" " in bar for bar in expected)
    assert any("one bar for each chord" in text for text in guessed) == loose
