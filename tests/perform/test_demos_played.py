"""Whole songs played: what holds for every performance of an arranged part."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest

import shared
from engine.arrange import arrange
from engine.harmony import analyse
from engine.part import Part
from engine.perform import TempoMap, perform
from engine.song import Hand, Song, read_song

DEMOS = shared.names("songs", ".toml")


@cache
def made(name: str) -> tuple[Song, Part]:
    song = read_song(shared.text("songs", name))
    return song, arrange(song, analyse(song))


@pytest.mark.parametrize("name", DEMOS)
def test_every_attack_of_the_part_sounds_in_time(name: str) -> None:
    song, part = made(name)
    found = perform(part, song)
    struck = {(note.onset, note.pitch.midi) for note in part.notes}
    assert {(note.onset, note.midi) for note in found.notes} == struck
    assert len(found.notes) == len(struck)
    assert found.end == song.end


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("scale", [0.5, 1.0, 1.6])
def test_the_pedal_goes_up_and_down_by_turns_and_after_each_attack(name: str, scale: float) -> None:
    song, part = made(name)
    found = perform(part, song, tempo_scale=scale)
    tempo = TempoMap(found.tempo)
    times = [tempo.seconds(move.onset) + move.late_ms / 1000 for move in found.pedal]
    assert times == sorted(times)
    assert [move.value for move in found.pedal] == [127, 0] * (len(found.pedal) // 2)
    # At a change the pedal is down again while every note struck there is still held.
    for up, down in pairwise(found.pedal):
        if up.value == 0 and down.value == 127 and up.onset == down.onset:
            caught = [note for note in found.notes if note.onset == down.onset]
            assert caught
            pressed = tempo.seconds(down.onset) + down.late_ms / 1000
            assert all(tempo.seconds(note.end) > pressed for note in caught)
            assert 0 <= up.late_ms < down.late_ms


@pytest.mark.parametrize("name", DEMOS)
def test_every_bar_can_be_looped_alone(name: str) -> None:
    song, part = made(name)
    whole = perform(part, song, ritard=False)
    for bar in song.bars:
        found = perform(part, song, bars=(bar.number, bar.number))
        own = [n for n in whole.notes if bar.start <= n.onset < bar.end]
        struck = {(n.onset + bar.start, n.midi, n.velocity, n.late_ms) for n in found.notes}
        assert {(n.onset, n.midi, n.velocity, n.late_ms) for n in own} <= struck
        assert (found.start, found.end) == (bar.start, bar.meter.bar)
        assert len(found.tempo) == 1


@pytest.mark.parametrize("name", DEMOS)
def test_the_top_voice_leads(name: str) -> None:
    """Over a whole song the right hand's highest notes are the loudest of their bars on average."""
    song, part = made(name)
    found = perform(part, song)
    lead, rest = [], []
    for bar in song.bars:
        right = [n for n in found.notes if n.hand is Hand.RIGHT and bar.start <= n.onset < bar.end]
        if right:
            top = max(n.midi for n in right)
            lead += [n.velocity for n in right if n.midi == top]
            rest += [n.velocity for n in right if n.midi != top]
    assert sum(lead) / len(lead) > sum(rest) / len(rest) + 5
