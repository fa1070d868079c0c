"""Progressions written as in a sentence, read in a key, and those worked by hand."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from engine.chord import parse_chord
from engine.harmony import ChordReading, Step, read_progression
from engine.key import Key


def read(key: str, chords: str) -> tuple[ChordReading, ...]:
    """The chords of `chords` (symbols apart by spaces) read together in one key."""
    home = Key.parse(key)
    return read_progression([Step(parse_chord(text), home) for text in chords.split()])


@dataclass(frozen=True)
class Worked:
    """A progression with the numerals that are written over it."""

    key: Key
    chords: tuple[str, ...]
    romans: tuple[str, ...]


def applied_progressions() -> list[Worked]:
    """The rows of applied.txt."""
    text = Path(__file__).with_name("applied.txt").read_text(encoding="utf-8")
    rows = [line.split(" | ") for line in text.splitlines() if line and not line.startswith("#")]
    return [
        Worked(Key.parse(key), tuple(chords.split()), tuple(romans.split()))
        for key, chords, romans in rows
    ]
