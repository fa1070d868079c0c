"""MIDI files, read back by an independent reader and by mido: every note, tie and mark whole."""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import mido
import pytest

from engine.arrange import arrange
from engine.exchange.midi_write import DIVISION, write_midi
from engine.harmony import analyse
from engine.part import Part
from engine.perform import TempoMap, perform
from engine.song import Hand, Song, load_song, read_song
from engine.song.melody import melody_notes
from tests.exchange import smf

SONGS = sorted((Path(__file__).parents[2] / "shared" / "songs").glob("*.toml"))
TEXT, RIGHTS, NAME, MARKER, TEMPO, METER, KEY = 0x01, 0x02, 0x03, 0x06, 0x51, 0x58, 0x59


def part_of(song: Song) -> Part:
    return arrange(song, analyse(song))


def file_of(song: Song, **options: Any) -> smf.File:
    performance = perform(part_of(song), song, timing=False)
    return smf.read(write_midi(song, performance, **options))


def metas(track: tuple[smf.Event, ...], kind: int) -> list[tuple[int, bytes]]:
    return [(event.tick, event.data) for event in track if event.meta == kind]


def ticks(place: Fraction) -> int:
    exact = place * 4 * DIVISION
    assert exact.denominator == 1
    return int(exact)


@pytest.mark.parametrize("path", SONGS, ids=lambda path: path.stem)
def test_every_note_of_the_part_is_one_note_of_its_hands_track(path: Path) -> None:
    """Tied notes are whole; a key that both hands strike at once sounds once."""
    song = load_song(path)
    part = part_of(song)
    performance = perform(part, song, timing=False)
    file = smf.read(write_midi(song, performance))
    tracks = 4 if performance.melody else 3
    assert (file.format, file.division, len(file.tracks)) == (1, 480, tracks)
    for hand, track in ((Hand.RIGHT, file.tracks[1]), (Hand.LEFT, file.tracks[2])):
        found = smf.notes(track)
        expected = sorted(
            (ticks(note.onset), note.midi, ticks(note.end), note.velocity)
            for note in performance.notes
            if note.hand is hand
        )
        assert [(note.on, note.key, note.off, note.velocity) for note in found] == expected
        written = {(ticks(note.onset), note.pitch.midi) for note in part.notes if note.hand is hand}
        assert {(note.on, note.key) for note in found} <= written
        for note in part.notes:
            if note.tied and note.hand is hand:
                whole = (ticks(note.onset), note.pitch.midi, ticks(note.end))
                assert whole in {(each.on, each.key, each.off) for each in found}


@pytest.mark.parametrize("path", SONGS, ids=lambda path: path.stem)
def test_mido_reads_the_same_events(path: Path) -> None:
    song = load_song(path)
    data = write_midi(song, perform(part_of(song), song, timing=False), click=True, count_in=1)
    ours = smf.read(data)
    theirs = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    assert (theirs.type, theirs.ticks_per_beat) == (ours.format, ours.division)
    assert len(theirs.tracks) == len(ours.tracks) == (5 if melody_notes(song) else 4)
    for mine, other in zip(ours.tracks, theirs.tracks, strict=True):
        tick, read = 0, []
        for message in other:
            tick += message.time
            if not message.is_meta:
                read.append((tick, bytes(message.bytes())))
        assert read == [(event.tick, event.data) for event in mine if event.meta is None]


def test_conductor_has_tempo_meter_key_sections_and_chords() -> None:
    song = load_song(next(path for path in SONGS if path.stem == "paper-lanterns"))
    performance = perform(part_of(song), song, timing=False)
    conductor = smf.read(write_midi(song, performance)).tracks[0]
    assert metas(conductor, NAME) == [(0, b"Paper Lanterns")]
    # 69 quarters a minute: 60,000,000 / 69 microseconds a quarter.
    assert metas(conductor, TEMPO)[0] == (0, round(60e6 / 69).to_bytes(3, "big"))
    assert len(metas(conductor, TEMPO)) == len(performance.tempo)
    assert metas(conductor, METER) == [(0, bytes([4, 2, 24, 8]))]
    assert metas(conductor, KEY) == [(0, bytes([256 - 4, 0]))]  # four flats, major
    bar = 4 * DIVISION
    assert metas(conductor, MARKER) == [(0, b"Verse"), (8 * bar, b"Chorus"), (16 * bar, b"Outro")]
    chords = metas(conductor, TEXT)
    half = bar // 2
    assert chords[:3] == [(0, b"Ab"), (bar, b"Ab/G"), (2 * bar, b"Fm7")]
    assert chords[3:5] == [(3 * bar, b"Db"), (3 * bar + half, b"Eb")]
    assert len(chords) == sum(len(each.slots) for each in song.bars)


def test_the_melody_has_a_track_a_channel_and_a_program_of_its_own() -> None:
    """General MIDI Level 1: program 74 (73 from 0) is the flute; the hands stay on channel 1."""
    song = load_song(next(path for path in SONGS if path.stem == "second-thoughts"))
    file = file_of(song)
    track = file.tracks[3]
    assert metas(track, NAME) == [(0, b"Melody")]
    written = melody_notes(song)
    assert [(n.on, n.key, n.off) for n in smf.notes(track)] == [
        (ticks(note.onset), note.pitch.midi, ticks(note.end)) for note in written
    ]
    channels = [{e.data[0] & 15 for e in t if e.meta is None} for t in file.tracks[1:]]
    assert channels == [{0}, {0}, {1}]
    assert next(e.data for e in track if e.meta is None) == bytes([0xC1, 73])


CHANGES = """
format = 1
title = "Changes"
key = "E minor"
meter = "6/8"
tempo = 60

[[section]]
name = "A"
chart = "| Em | C |"

[[section]]
name = "B"
key = "D dorian"
meter = "2/2"
tempo = 80
chart = "| Dm . | G . |"
"""


def test_changes_of_meter_key_and_tempo_come_at_their_bars() -> None:
    song = read_song(CHANGES)
    conductor = smf.read(write_midi(song, perform(part_of(song), song, ritard=False))).tracks[0]
    change = ticks(Fraction(12, 8))
    # A dotted quarter a beat at 60 is 90 quarters a minute, a half at 80 is 160.
    tempos = [(tick, int.from_bytes(data, "big")) for tick, data in metas(conductor, TEMPO)]
    assert tempos == [(0, round(60e6 / 90)), (change, 60_000_000 // 160)]
    assert metas(conductor, METER) == [(0, bytes([6, 3, 36, 8])), (change, bytes([2, 1, 48, 8]))]
    assert metas(conductor, KEY) == [(0, bytes([1, 1])), (change, bytes([0, 1]))]


def test_one_piano_program_1_with_its_pedal() -> None:
    """General MIDI: program 1 (sent as 0) is the acoustic grand; controller 64 is sustain."""
    song = load_song(SONGS[0])
    performance = perform(part_of(song), song, timing=False)
    file = smf.read(write_midi(song, performance))
    for track in file.tracks[1:]:
        events = [event for event in track if event.meta is None]
        assert (events[0].tick, events[0].data) == (0, bytes([0xC0, 0]))
        assert {event.data[0] & 15 for event in events} == {0}
    moves = [event for track in file.tracks for event in track if event.data[:1] == b"\xb0"]
    assert len(moves) == len(performance.pedal) > 0
    tempo = TempoMap(performance.tempo)
    for event, move in zip(moves, performance.pedal, strict=True):
        assert event.data[1:] == bytes([64, move.value])
        end = tempo.seconds(performance.end)
        expected = min(tempo.seconds(move.onset) + move.late_ms / 1000, end)
        assert tempo.seconds(Fraction(event.tick, 4 * DIVISION)) == pytest.approx(
            expected, abs=3e-3
        )
    assert moves[-1].data[2] == 0


def test_bars_of_a_song_begin_at_tick_0_and_their_signatures_with_them() -> None:
    song = load_song(SONGS[0])
    performance = perform(part_of(song), song, bars=(3, 4), timing=False)
    file = smf.read(write_midi(song, performance))
    assert min(note.on for track in file.tracks[1:] for note in smf.notes(track)) == 0
    assert metas(file.tracks[0], KEY)[0][0] == metas(file.tracks[0], METER)[0][0] == 0
    end = ticks(song.bars[3].end - song.bars[2].start)
    assert {track[-1].tick for track in file.tracks} == {end}


def test_a_count_in_moves_everything_by_its_bar_and_clicks_on_channel_10() -> None:
    song = load_song(SONGS[0])
    plain, counted = file_of(song), file_of(song, count_in=1)
    bar = ticks(song.bars[0].meter.bar)
    for before, after in zip(plain.tracks[1:], counted.tracks[1:3], strict=True):
        moved = [replace(note, on=note.on + bar, off=note.off + bar) for note in smf.notes(before)]
        assert smf.notes(after) == moved
    clicks = smf.notes(counted.tracks[3])
    assert {note.channel for note in clicks} == {9}
    assert [note.on for note in clicks] == [
        ticks(song.bars[0].meter.beat * beat) for beat in range(song.bars[0].meter.beats)
    ]


def test_a_title_in_any_script_is_kept() -> None:
    song = read_song(CHANGES.replace("Changes", "Čas, 時, ♭"))
    conductor = file_of(song).tracks[0]
    assert metas(conductor, NAME)[0][1].decode() == "Čas, 時, ♭"


def test_the_rights_stand_at_the_beginning_of_the_first_track() -> None:
    """Standard MIDI Files 1.0: a copyright notice is at time 0 of the first track."""
    song = replace(read_song(CHANGES), rights="© 2026 A. Writer")
    conductor, *others = file_of(song).tracks
    assert metas(conductor, RIGHTS) == [(0, "© 2026 A. Writer".encode())]
    assert not any(metas(track, RIGHTS) for track in others)


@pytest.mark.parametrize("path", SONGS, ids=lambda path: path.stem)
def test_the_file_holds_the_part_note_for_note(path: Path) -> None:
    """Each attack of the part, by its hand's track: key, beginning and end.

    What both hands strike at once is one key: it may end with the longer of the two. The notes of
    a rolled chord begin one after another, as a MIDI file has no sign for it, and end together.
    """
    song = load_song(path)
    part = part_of(song)
    file = smf.read(write_midi(song, perform(part, song, timing=False)))
    for hand, track in ((Hand.RIGHT, file.tracks[1]), (Hand.LEFT, file.tracks[2])):
        other = {(ticks(n.onset), n.pitch.midi) for n in part.notes if n.hand is not hand}
        own = [note for note in part.notes if note.hand is hand]
        rolled = {(n.pitch.midi, ticks(n.end)) for n in own if n.rolled}
        wanted = {(ticks(n.onset), n.pitch.midi, ticks(n.end)) for n in own if not n.rolled}
        found = {(note.on, note.key, note.off) for note in smf.notes(track)}
        differ = {note for note in wanted ^ found if note[:2] not in other}
        assert {note[1:] for note in differ} == rolled
