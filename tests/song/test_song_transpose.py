"""Songs in other keys: everything moves together, in the writer's own way of writing."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.chord import parse_chord
from engine.errors import PitchError, SongError
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Interval, Note
from engine.song import (
    SONG,
    Scope,
    Section,
    Settings,
    Song,
    build,
    interval_to,
    read_range,
    read_song,
    set_bar_option,
    set_setting,
    transpose,
    voice_keys,
    write_song,
)
from engine.song.abc_move import moved_melody
from engine.song.melody import melody_notes
from tests.song.song_strategies import charts

COMMON = Meter.of(4, 4)


def song(chart: str, key: str = "C major", melody: str | None = None) -> Song:
    return build("", Settings(key=Key.parse(key)), [Section("A", chart, melody=melody)])


def moved(chart: str, interval: str, key: str = "C major") -> str:
    return transpose(song(chart, key), Interval.parse(interval)).sections[0].chart


@pytest.mark.parametrize(
    ("key", "interval", "before", "after"),
    [
        ("C major", "M2", "| C | F#m7 |", "| D | G#m7 |"),
        ("C major", "m3", "| C-7 | Gmi7/B♭ | E°7 |", "| Eb-7 | B♭mi7/D♭ | G°7 |"),
        ("C major", "P4", "| C#Δ | B♭ma7(#11) |", "| F#Δ | E♭ma7(#11) |"),
        ("C major", "-M2", "| C/E | G7sus4 . N.C. ? | % |", "| Bb/D | F7sus4 . N.C. ? | % |"),
        ("Ab major", "M3", "| Ab | Eb7 | Fm |", "| C | G7 | Am |"),
        # Up an augmented fourth F sharp would be the key of B sharp: it is written as C.
        ("F# major", "A4", "| F# | C#7/E# | D#m |", "| C | G7/B | Am |"),
        ("B major", "m2", "| B | F#7/A# |", "| C | G7/B |"),
        ("Gb major", "m2", "| Gb | Db7/F | Cbm |", "| G | D7/F# | Cm |"),
    ],
)  # fmt: skip
def test_chords_move_with_their_key_and_keep_the_writers_suffix(
    key: str, interval: str, before: str, after: str
) -> None:
    assert moved(before, interval, key) == after


def test_remarks_columns_and_pinned_shapes() -> None:
    made = song("| C | F |   # C stays C in a remark\n")
    made = set_bar_option(made, 1, "shape", "E3 G3 C4, bass C2 | top E")
    made = set_setting(made, Scope(bar=2), "key", "F major")
    up = transpose(made, Interval.parse("M2"))
    assert up.sections[0].chart == "| D | G |   # C stays C in a remark\n"
    assert up.bars[0].own.shape == "F#3 A3 D4, bass D2 | top F#"
    assert [bar.key.name for bar in up.bars] == ["D major", "G major"]


def test_the_shorter_way_to_a_tonic() -> None:
    key = Key.parse("Ab major")
    for name, semitones in (("C", 4), ("G", -1), ("F", -3), ("D", 6), ("A", 1), ("Eb", -5)):
        assert interval_to(key, Note.parse(name)).semitones == semitones
        assert key.moved(interval_to(key, Note.parse(name))).tonic == Note.parse(name)


@settings(deadline=None, max_examples=60)
@given(charts(), st.sampled_from(("m2", "M2", "m3", "M3", "P4", "A4", "P5")))
def test_there_and_back_is_where_it_was(chart: tuple[str, list[str]], name: str) -> None:
    """Every chord moves by the interval in sound; the way back undoes it."""
    made, interval = song(chart[0]), Interval.parse(name)
    up = transpose(made, interval)
    for before, after in zip(made.bars, up.bars, strict=True):
        for old, new in zip(before.slots, after.slots, strict=True):
            assert (old.onset, old.duration, old.kind) == (new.onset, new.duration, new.kind)
            if old.chord and new.chord:
                expected = {(pc + interval.semitones) % 12 for pc in old.chord.pitch_classes}
                assert new.chord.pitch_classes == expected
                assert parse_chord(new.chord.symbol) == new.chord
                assert max(abs(note.alter) for note in new.chord.notes) <= 2
    back = transpose(up, -interval)
    assert [bar.key for bar in back.bars] == [bar.key for bar in made.bars]
    assert read_song(write_song(up, write_song(made))) == up


MELODY = 'E2 ^F G =F2 "G7/B"d3- | d (3cBA [CEG]4 | "^softly"_B z c\'3 D,3 |] % C\nw: la la'


def test_a_melody_moves_as_text() -> None:
    up = moved_melody(MELODY, Key.parse("C major"), COMMON, Interval.parse("M2"))
    assert up == (
        'F2 ^G A =G2 "A7/C#"e3- | e (3dcB [DFA]4 | "^softly"=c z d\'3 E,3 |] % C\nw: la la'
    )
    assert moved_melody("F [K:G] F | [K:Dm]B2 ^c", Key.parse("C"), COMMON, Interval(1, 2)) == (
        "G [K:A] G | [K:Em]c2 ^d"
    )
    assert moved_melody("F", Key.parse("F# major"), COMMON, Interval.of_semitones(-6)) == "C"
    with pytest.raises(SongError, match="leave the piano"):
        moved_melody("c''''", Key.parse("C major"), COMMON, Interval.parse("P8"))


letters = st.builds(
    "{}{}{}{}".format,
    st.sampled_from(["", "", "", "^", "_", "=", "^^"]),
    st.sampled_from("CDEFGABcdefgab"),
    st.sampled_from(["", "", "2", "3/2", "/"]),
    st.sampled_from([" ", "", " | ", "-"]),
)


def test_a_tie_joins_two_spellings_of_one_note_in_every_key() -> None:
    # ABC 2.1, section 4.11: a tie joins two notes of the same pitch.
    made = song("| C |", melody="C C ^^D-E")
    assert [note.duration for note in melody_notes(made)] == [Fraction(1, 8)] * 2 + [Fraction(1, 4)]
    up = melody_notes(transpose(made, Interval.parse("A4")))
    assert [note.duration for note in up] == [note.duration for note in melody_notes(made)]


@settings(deadline=None, max_examples=80)
@given(
    st.lists(letters | st.sampled_from(["[K:Eb]", "z2 ", "[CEG]"]), max_size=14).map("".join),
    st.sampled_from(("C major", "F# minor", "Eb major", "D dorian")),
    st.sampled_from(("m2", "M2", "m3", "P4", "A4", "-M3")),
)
def test_every_note_of_a_melody_moves_by_the_interval(text: str, key: str, name: str) -> None:
    made, interval = song("| C |" * 12, key, text), Interval.parse(name)
    up = melody_notes(transpose(made, interval))
    before = [(n.onset, n.duration, n.pitch.midi + interval.semitones) for n in melody_notes(made)]
    assert [(note.onset, note.duration, note.pitch.midi) for note in up] == before


def test_a_key_for_a_voice_keeps_the_extremes_rare() -> None:
    tune = song("| C | G | C |", melody="C2 E2 G2 c2 | d2 B2 G4 | c8")  # C4 to D5
    low, high = 57, 76  # A3 to E5
    interval = voice_keys(tune, low, high)[0].interval
    notes = [note.pitch.midi for note in melody_notes(transpose(tune, interval))]
    assert low + 2 <= min(notes)
    assert max(notes) <= high - 2
    down = voice_keys(tune, 41, 60)[0].interval  # a bass: an octave or so lower
    notes = [note.pitch.midi for note in melody_notes(transpose(tune, down))]
    assert min(notes) >= 41
    assert max(notes) <= 60
    # Without a melody the tonic's octave lies in the middle.
    assert voice_keys(song("| C |"), 60, 72)[0].interval.semitones == 0
    assert voice_keys(song("| C |"), 62, 74)[0].interval.semitones == 2
    assert voice_keys(song("| C |"), 57, 69)[0].interval.semitones == -3


def test_a_melody_is_checked_where_it_is_set() -> None:
    made = song("| C |")
    assert set_setting(made, Scope(section=0), "melody", "C4").sections[0].melody == "C4"
    with pytest.raises(SongError) as caught:
        set_setting(made, Scope(section=0), "melody", "C4 ;")
    assert caught.value.place is not None
    assert caught.value.place.column == 4
    assert set_setting(made, SONG, "title", "x").title == "x"


WIDE = """format = 1
title = "Wide"
key = "C major"
meter = "4/4"
tempo = 80

[[section]]
name = "A"
chart = "| C | C |"
melody = "C4 E4 | G4 c4 |"
"""


def test_keys_for_a_voice_say_how_the_melody_lies_in_each() -> None:
    """C4 to C5 is an octave: it fits A3–D5 as it stands, and no range of a sixth."""
    tune = read_song(WIDE)
    keys = voice_keys(tune, *read_range("A3-D5"))
    assert len({each.key for each in keys}) == len(keys) == 6
    assert all(each.fits for each in keys[:3])
    assert keys[0].says.endswith("all of it lies in the range.")
    for each in keys:
        moved = [note.pitch.midi for note in melody_notes(transpose(tune, each.interval))]
        assert each.outside == sum(not 57 <= midi <= 74 for midi in moved)
        assert (each.low, each.high) != (None, None)
    narrow = voice_keys(tune, *read_range("A3-F#4"))[0]
    assert not narrow.fits
    assert narrow.below + narrow.above >= 3
    assert "outside" in narrow.says


@pytest.mark.parametrize("text", ["D5-A3", "A3", "low-high", "A3-A3", ""])
def test_what_is_no_range_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(PitchError, match="A3-D5"):
        read_range(text)
