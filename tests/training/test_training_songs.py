"""Popular songs' chords, turned into song files, go through the whole of the engine.

The songs are those of the McGill Billboard annotations where they lie beside the repository
(Burgoyne, Wild & Fujinaga, ISMIR 2011), else a small invented sample of the same form.
"""

from __future__ import annotations

import json
from fractions import Fraction
from functools import cache
from typing import Any

import mir_eval
import pytest

from engine.arrange import arrange
from engine.chord import parse_chord
from engine.harmony import analyse
from engine.part import PartNote, Role
from engine.song import Song, read_song, write_song
from tests.training.harte_labels import chord_of
from tests.training.training_songs import CORPUS, SAMPLE, labels_of, rows, song_of

SAMPLE_ROWS = [json.loads(line) for line in SAMPLE.read_text(encoding="utf-8").splitlines()]
CHORDAL = (Role.CHORD, Role.BASS, Role.DOUBLING)


@cache
def all_rows() -> list[dict[str, Any]]:
    return [*rows(), *SAMPLE_ROWS]


def test_every_label_has_the_pitch_classes_of_mir_evals_reading() -> None:
    """Source: mir_eval.chord (Harte syntax), extended chords reduced to triads plus degrees."""
    labels = {label for row in all_rows() for _, label in labels_of(row)} - {"N"}
    assert len(labels) > 20
    for label in sorted(labels):
        root, bits, _ = mir_eval.chord.encode(label, reduce_extended_chords=True)
        expected = {(root + step) % 12 for step in range(12) if bits[step]}
        chord = chord_of(label)
        assert chord is not None
        assert chord.pitch_classes == expected, label
        assert parse_chord(chord.symbol) == chord, label


def test_bars_of_any_length_come_out_whole() -> None:
    """A bar longer or shorter than the song's meter gets one of its own that its chords fill."""
    song = song_of(SAMPLE_ROWS[0])
    assert [bar.meter.name for bar in song.bars[3:8]] == ["4/4", "2/4", "4/4", "4/4", "12/4"]
    pushed = song.bars[6]
    assert [slot.onset for slot in pushed.slots] == [0, Fraction(3, 8), Fraction(1, 2)]
    in_threes = song_of(SAMPLE_ROWS[1]).bars
    assert [bar.meter.name for bar in in_threes][2:5] == ["12/8", "4/4", "12/8"]


def _sounding(notes: list[PartNote], start: Fraction, end: Fraction) -> list[PartNote]:
    return [note for note in notes if note.onset < end and note.end > start]


def _check(song: Song) -> None:
    reading = analyse(song)
    part = arrange(song, reading)
    by_bar: dict[int, list[PartNote]] = {bar.number: [] for bar in song.bars}
    for note in part.notes:
        by_bar[note.bar].append(note)
    held: list[PartNote] = []
    for bar in song.bars:
        notes = [*held, *by_bar[bar.number]]
        for slot in bar.slots:
            start = bar.start + slot.onset
            here = _sounding(notes, start, start + slot.duration)
            if slot.chord is None:
                assert not [note for note in here if note.onset >= start], (song.title, bar.number)
                continue
            classes = slot.chord.pitch_classes
            assert any(note.pitch.midi % 12 in classes for note in here), (
                f"{song.title}, bar {bar.number}: {slot.typed} is silent"
            )
            for note in here:
                if note.onset >= start and note.role in CHORDAL:
                    assert note.pitch.midi % 12 in classes, (
                        f"{song.title}, bar {bar.number}: {note.pitch} is {note.role} "
                        f"in {slot.typed}"
                    )
        held = [note for note in notes if note.end > bar.end]


@pytest.mark.parametrize("part", range(8))
def test_every_song_is_read_and_arranged(part: int) -> None:
    """Each chord sounds in its bar; notes called chord, bass or doubling belong to its chord."""
    for row in all_rows()[part::8]:
        song = song_of(row)
        text = write_song(song)
        assert read_song(text) == song
        _check(song)


def test_the_corpus_is_whole_where_it_is_there() -> None:
    """375 songs (Coordinated Corpus of Popular Musics, 2023), or else the sample's three."""
    assert len(rows()) == (375 if CORPUS.exists() else 3)
