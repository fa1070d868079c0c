"""The demo songs: packaged, varied as promised, read without a complaint, kept byte for byte."""

from __future__ import annotations

from fractions import Fraction

import pytest

import shared
from engine.arrange import arrange, check
from engine.harmony import Category, analyse
from engine.song import Song, read_song, write_song

NAMES = shared.names("songs", ".toml")


def demo(name: str) -> Song:
    return read_song(shared.text("songs", name), name)


def categories(song: Song) -> set[Category]:
    return {chord.category for chord in analyse(song).chords}


def test_there_are_five_of_their_own_titles() -> None:
    assert len(NAMES) == 5
    assert len({demo(name).title for name in NAMES}) == 5


@pytest.mark.parametrize("name", NAMES)
def test_each_is_whole_and_breaks_no_rule(name: str) -> None:
    song, text = demo(name), shared.text("songs", name)
    assert write_song(song, text) == text
    assert 16 <= len(song.bars) <= 40
    assert len(song.sections) >= 3
    assert all(section.settings.right and section.settings.arc for section in song.sections)
    reading = analyse(song)
    part = arrange(song, reading)
    assert [finding for finding in check(song, reading, part) if not finding.waived] == []
    assert {note.bar for note in part.notes} == {bar.number for bar in song.bars}


def test_the_one_that_opens_first_has_four_flats() -> None:
    song = demo("paper-lanterns.toml")
    assert (song.key.mode, song.meter.name) == ("major", "4/4")
    assert song.key.signature <= -4
    assert [section.name for section in song.sections] == ["Verse", "Chorus", "Outro"]


def test_meters_and_modes_differ() -> None:
    songs = [demo(name) for name in NAMES]
    assert {song.meter.name for song in songs} >= {"4/4", "6/8", "2/2", "3/4"}
    assert any(song.key.is_minor and song.meter.name == "6/8" for song in songs)


def test_one_has_half_bars_slash_basses_and_chords_from_outside() -> None:
    song = demo("second-thoughts.toml")
    halves = [bar for bar in song.bars if [s.duration for s in bar.slots] == [Fraction(1, 2)] * 2]
    assert len(halves) > len(song.bars) / 2
    assert sum(slot.chord is not None and slot.chord.bass is not None
               for bar in song.bars for slot in bar.slots) >= 8  # fmt: skip
    assert categories(song) >= {Category.APPLIED, Category.BORROWED}
    assert any(section.melody for section in song.sections)
