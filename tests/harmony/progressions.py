"""Progressions written as in a sentence, read in a key."""

from __future__ import annotations

from engine.chord import parse_chord
from engine.harmony import ChordReading, Step, read_progression
from engine.key import Key


def read(key: str, chords: str) -> tuple[ChordReading, ...]:
    """The chords of `chords` (symbols apart by spaces) read together in one key."""
    home = Key.parse(key)
    return read_progression([Step(parse_chord(text), home) for text in chords.split()])
