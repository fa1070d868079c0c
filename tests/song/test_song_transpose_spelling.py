"""Transposed songs are spelled in their new keys: no triple accidental, no doubly altered root."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import shared
from engine.chord import Chord, parse_chord
from engine.key import Key
from engine.pitch import Interval, Note
from engine.song import Section, Settings, Song, build, read_song, transpose
from engine.song.respell import moved_symbol
from tests.song.song_strategies import charts

SIMPLE = ("m2", "M2", "A2", "m3", "M3", "d4", "P4", "A4", "d5", "P5", "A5", "m6", "M6", "d7", "m7")
INTERVALS = [sign + name for name in (*SIMPLE, "M7", "P8", "A1") for sign in ("", "-")]
KEYS = [
    *(Key(Note(fifths), "major") for fifths in range(-7, 8)),
    *(Key(Note(fifths), "minor") for fifths in range(-4, 11)),
]
intervals = st.sampled_from(INTERVALS).map(Interval.parse)
keys = st.sampled_from(KEYS)
DEMOS = [read_song(shared.text("songs", name)) for name in shared.names("songs", ".toml")]


def _leading(chord: Chord) -> bool:
    return (chord.alter(3), chord.alter(5)) == (-1, -1)


def _check(before: Song, after: Song, interval: Interval) -> None:
    for old, new in zip(before.bars, after.bars, strict=True):
        assert abs(new.key.signature) <= 7
        for was, now in zip(old.slots, new.slots, strict=True):
            if was.chord is None or now.chord is None:
                assert was.chord is now.chord
                continue
            expected = {(pc + interval.semitones) % 12 for pc in was.chord.pitch_classes}
            assert now.chord.pitch_classes == expected
            assert max(abs(note.alter) for note in now.chord.notes) <= 2
            assert abs(now.chord.root.alter) < 2 or _leading(now.chord)
            assert parse_chord(now.chord.symbol) == now.chord
            if set(was.chord.notes) <= set(old.key.scale):
                assert set(now.chord.notes) <= set(new.key.scale)


@pytest.mark.parametrize("name", INTERVALS)
def test_every_demo_song_by_every_interval(name: str) -> None:
    interval = Interval.parse(name)
    for song in DEMOS:
        _check(song, transpose(song, interval), interval)


def _modulating(texts: list[str], places: list[Key]) -> Song:
    """A song whose sections stand in keys of their own."""
    sections = [
        Section(f"S{n}", text, settings=Settings(key=key))
        for n, (text, key) in enumerate(zip(texts, places, strict=True))
    ]
    return build("", Settings(key=places[0]), sections)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(charts(most=4).map(lambda made: made[0]), min_size=2, max_size=3), intervals, st.data()
)
def test_random_songs_that_modulate_are_respelled_section_by_section(
    texts: list[str], interval: Interval, data: st.DataObject
) -> None:
    song = _modulating(texts, [data.draw(keys) for _ in texts])
    _check(song, transpose(song, interval), interval)


@settings(deadline=None, max_examples=60)
@given(keys, keys, intervals)
def test_each_sections_own_chords_stay_its_own(first: Key, second: Key, interval: Interval) -> None:
    """All triads and sevenths of two keys, each in a section of that key, and back again."""
    texts = [_own_chords(key) for key in (first, second)]
    song = _modulating(texts, [first, second])
    after = transpose(song, interval)
    _check(song, after, interval)
    back = transpose(after, -interval)
    if [bar.key for bar in back.bars] == [bar.key for bar in song.bars]:
        assert [[slot.chord for slot in bar.slots] for bar in back.bars] == [
            [slot.chord for slot in bar.slots] for bar in song.bars
        ]


def _own_chords(key: Key) -> str:
    qualities: dict[tuple[int, ...], str] = {
        (4, 7, 11): "maj7",
        (4, 7, 10): "7",
        (3, 7, 10): "m7",
        (3, 6, 10): "m7b5",
    }
    words = []
    for place, root in enumerate(key.scale):
        above = [key.scale[(place + step) % 7] for step in (2, 4, 6)]
        words.append(root.name + qualities[tuple((note.pc - root.pc) % 12 for note in above)])
    return "| " + " | ".join(words) + " |"


@pytest.mark.parametrize(
    ("key", "interval", "before", "after"),
    [
        ("C major", "m2", "| C | Ab7 | G7 |", "| Db | A7 | Ab7 |"),
        ("Db major", "-m2", "| Db | A7 | Ab7 |", "| C | Ab7 | G7 |"),
        ("C major", "d5", "| Fm/Ab | Ab | G |", "| Cbm/Ebb | D | Db |"),
        ("G major", "m2", "| Eb | D7 | G |", "| Fb | Eb7 | Ab |"),
        ("A minor", "-m2", "| G#°7 | Am |", "| Fx°7 | G#m |"),
    ],
)
def test_lead_sheets_have_plain_roots(key: str, interval: str, before: str, after: str) -> None:
    """Common practice of lead sheets, no source; a leading-tone chord keeps its letter."""
    song = build("", Settings(key=Key.parse(key)), [Section("A", before)])
    assert transpose(song, Interval.parse(interval)).sections[0].chart == after


@pytest.mark.parametrize(
    "typed", ["Cmin7/E", "Cmin7(onE)", "Cmin7/(E)", "Cmin7(/E)", "Cmin7/E bass"]
)
def test_a_suffix_stays_as_typed_however_the_bass_is_written(typed: str) -> None:
    key, whole = Key.parse("C major"), Interval.parse("M2")
    assert moved_symbol(typed, parse_chord(typed), whole, key) == "Dmin7/F#"
