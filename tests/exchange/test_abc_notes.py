"""ABC note text against the standard (ABC 2.1, 2011, section 4) and music21's reader."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine.errors import SongError
from engine.key import Key
from engine.meter import Meter
from engine.song.abc import read_abc
from engine.song.abc_value import AbcMusic
from engine.song.melody import melody_notes
from tests.exchange.samples import make_song


def read(text: str, key: str = "C major", meter: str = "4/4") -> AbcMusic:
    return read_abc(text, Key.parse(key), Meter.parse(meter), pickup=False)


def names(text: str, key: str = "C major") -> list[str]:
    return ["+".join(p.name for p in note.pitches) or "z" for note in read(text, key).notes]


def lengths(text: str, meter: str = "4/4") -> list[Fraction]:
    return [8 * note.duration for note in read(text, meter=meter).notes]


def test_pitches_of_section_4_1() -> None:
    """4.1: C is middle C, c the octave above, commas lower and apostrophes raise an octave."""
    assert names("C, C c c'") == ["C3", "C4", "C5", "C6"]


def test_accidentals_hold_to_the_bar_line_in_their_octave() -> None:
    """4.2; 11.3 leaves other octaves alone by default here."""
    assert names("^F F f =F | F _B ^^C __D", "C major") == [
        "F#4", "F#4", "F5", "F4", "F4", "Bb4", "Cx4", "Dbb4",
    ]  # fmt: skip
    assert names("F c B", "D major") == ["F#4", "C#5", "B4"]


def test_lengths_of_section_4_3() -> None:
    assert lengths("A A2 A3/2 A/ A/2 A// A3/") == [
        1, 2, Fraction(3, 2), Fraction(1, 2), Fraction(1, 2), Fraction(1, 4), Fraction(3, 2),
    ]  # fmt: skip


def test_broken_rhythm_of_section_4_4() -> None:
    assert lengths("A>B A<B A>>B") == [
        Fraction(3, 2), Fraction(1, 2), Fraction(1, 2), Fraction(3, 2),
        Fraction(7, 4), Fraction(1, 4),
    ]  # fmt: skip


def test_tuplets_of_section_4_13() -> None:
    """(3 is three in the time of two; (2 two in three; (5 in n, which is 3 in compound meters."""
    assert lengths("(3ABc A") == [Fraction(2, 3)] * 3 + [1]
    assert lengths("(2AB", "6/8") == [Fraction(3, 2)] * 2
    assert lengths("(5ABcde", "6/8") == [Fraction(3, 5)] * 5
    assert lengths("(3:2:4AB/c/d") == [
        Fraction(2, 3),
        Fraction(1, 3),
        Fraction(1, 3),
        Fraction(2, 3),
    ]


def test_chords_symbols_and_what_is_read_over() -> None:
    music = read('"Am7"[ACE]2 {g}~B "^soft"!mf!c- c | "G/B" z2 Z |')
    assert names('"Am7"[ACE]2')[0] == "A4+C4+E4"
    assert [(s.text, s.onset) for s in music.symbols] == [("Am7", 0), ("G/B", Fraction(5, 8))]
    assert music.notes[2].tied
    assert music.end == Fraction(5, 8) + Fraction(1, 4) + 1
    assert set(music.left) == {"grace notes", "annotations", "decorations"}


def test_fields_change_key_meter_and_unit() -> None:
    music = read("[K:G]F [L:1/4]F\nM:3/4\nF | [K:Dm]B")
    assert [note.pitches[0].name for note in music.notes] == ["F#4", "F#4", "F#4", "Bb4"]
    assert [note.duration for note in music.notes][:2] == [Fraction(1, 8), Fraction(1, 4)]


def test_repeat_signs_are_kept_as_typed() -> None:
    assert [bar.text for bar in read("|:A|1 B:|2 c||G:|").bars] == ["|:", "|1", ":|2", "||", ":|"]


@pytest.mark.parametrize(
    ("text", "column"), [("A B ; C", 5), ("CD\nE#F", 2), ("C2 (w D", 5), ("A999999", 1)]
)
def test_errors_name_the_place(text: str, column: int) -> None:
    with pytest.raises(SongError) as caught:
        read(text)
    assert caught.value.place is not None
    assert caught.value.place.column == column
    assert caught.value.cure


def test_music21_reads_the_same_notes() -> None:
    """music21's ABC reader on the same tune gives the same pitches and durations."""
    import music21

    body = "A>B (3cde f2 g2|^g/a/ b/c'/ _e d z2|D,2 [CEG]2 F4|]"
    tune = f"X:1\nT:t\nM:4/4\nL:1/8\nK:D\n{body}\n"
    score = music21.converter.parse(tune, format="abc")
    theirs = [
        (sorted(p.midi for p in n.pitches), Fraction(n.duration.quarterLength) / 4)
        for n in score.flatten().notesAndRests
    ]
    ours = [(sorted(p.midi for p in n.pitches), n.duration) for n in read(body, "D major").notes]
    assert ours == theirs


def test_melody_stands_at_its_sections_and_joins_ties() -> None:
    song = make_song(sections=(("A", "| C | F |"), ("B", "| G |")))
    first, second = song.sections
    from dataclasses import replace

    song = replace(
        song,
        sections=(replace(first, melody="c4 e4- | e2 d6 | f8"), replace(second, melody="g8")),
    )
    found = [(n.onset, n.duration, n.pitch.name) for n in melody_notes(song)]
    assert found == [
        (0, Fraction(1, 2), "C5"), (Fraction(1, 2), Fraction(3, 4), "E5"),
        (Fraction(5, 4), Fraction(3, 4), "D5"), (2, 1, "G5"),
    ]  # fmt: skip
