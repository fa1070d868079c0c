"""The words of a MIDI file's melody: its lyric events, a track a verse."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from engine.exchange.read.quantise import Quantiser
from engine.exchange.read.smf import Message, MidiFile, text_of
from engine.exchange.read.source import SourceNote
from engine.song.abc import MOST_VERSES
from engine.song.syllables import HELD, Syllable, plain_words

Row = dict[Fraction, Syllable]


def sung_rows(midi: MidiFile, quantiser: Quantiser) -> list[Row]:
    """The syllables of every verse by their places; tracks with the same ones are one verse."""
    found = [row for track in midi.tracks if (row := _syllables(track, quantiser))]
    return [row for n, row in enumerate(found) if row not in found[:n]][:MOST_VERSES]


def under_notes(rows: Sequence[Row], melody: Sequence[SourceNote]) -> list[SourceNote]:
    """The melody with its words."""
    columns = [_held(row, melody) for row in rows]
    return [
        replace(note, words=tuple(column[n] for column in columns)) for n, note in enumerate(melody)
    ]


def _syllables(track: Sequence[Message], quantiser: Quantiser) -> dict[Fraction, Syllable]:
    """The lyric events of a track by their places."""
    found: dict[Fraction, Syllable] = {}
    joined = False
    for message in track:
        if message.status != 0xFF or message.kind != 0x05:
            continue
        text = text_of(message.data)
        word = plain_words(text.removesuffix("-")) if text.strip("-") else ""
        if word:
            found[quantiser.onset(message.tick)] = Syllable(word, joined, text.endswith("-"))
            joined = text.endswith("-")
    return found


def _held(row: dict[Fraction, Syllable], melody: Sequence[SourceNote]) -> list[Syllable | None]:
    """What each note has of a verse: a note right after a syllable, before another, holds it."""
    last = max(row, default=Fraction(0))
    out: list[Syllable | None] = []
    for n, note in enumerate(melody):
        each = row.get(note.onset)
        if each is None and n and out[-1] and note.onset < last:
            each = HELD if melody[n - 1].end == note.onset else None
        out.append(each)
    return out
