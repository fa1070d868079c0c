"""Chords as the style counts them: a degree of the key by semitones and one of seven families."""

from __future__ import annotations

from functools import lru_cache

from engine.chord import Chord, parse_chord
from engine.key import Key
from engine.pitch import Note

#: The families, in the order of the table.
FAMILIES = ("major", "minor", "dominant", "diminished", "augmented", "suspended", "power")
MAJOR, MINOR, DOMINANT, DIMINISHED, AUGMENTED, SUSPENDED, POWER = range(7)
COUNT = len(FAMILIES)
CLASSES = 12 * COUNT

_PLAIN = ("", "m", "7", "dim", "aug", "sus4", "5")
_SEVENTH = ("maj7", "m7", "7", "m7b5", "aug7", "7sus4", "5")


def family(chord: Chord) -> int:
    """Which of the families a chord belongs to, by its third, fifth and seventh."""
    third, fifth = chord.alter(3), chord.alter(5)
    if third is None:
        return SUSPENDED if chord.alter(4) is not None or chord.alter(2) is not None else POWER
    if third == -1:
        return DIMINISHED if fifth == -1 else MINOR
    if fifth == 1:
        return AUGMENTED
    return DOMINANT if chord.alter(7) == -1 else MAJOR


def class_of(chord: Chord, key: Key) -> int:
    """Semitones of the root above the tonic, times the number of families, plus the family."""
    return (chord.root.pc - key.tonic.pc) % 12 * COUNT + family(chord)


def root_of(cls: int) -> int:
    """Semitones above the tonic."""
    return cls // COUNT


@lru_cache(maxsize=4096)
def chord_of(cls: int, key: Key, *, seventh: bool = False) -> Chord:
    """The usual chord of a class in a key; `seventh` asks for the key's seventh."""
    kind = cls % COUNT
    root = _root(root_of(cls), kind, key)
    if seventh and kind == MAJOR and all(note.pc != (root.pc + 11) % 12 for note in key.scale):
        seventh = False
    suffix = (_SEVENTH if seventh else _PLAIN)[kind]
    return Chord(root, parse_chord(f"C{suffix}").members)


def _root(semitones: int, kind: int, key: Key) -> Note:
    """Chromatic roots are flat, those of diminished chords sharp: leading notes of the next."""
    pc = (key.tonic.pc + semitones) % 12
    inside = next((note for note in key.scale if note.pc == pc), None)
    if inside is not None:
        return inside
    low = 1 if kind == DIMINISHED else -5
    for fifths in range(key.tonic.fifths + low, key.tonic.fifths + low + 12):
        note = Note(fifths)
        if note.pc == pc:
            return _plainer(note)
    raise AssertionError("a window of twelve fifths holds every pitch class")


def _plainer(note: Note) -> Note:
    """A note with at most one accidental."""
    if note.alter > 1:
        return Note(note.fifths - 12)
    return Note(note.fifths + 12) if note.alter < -1 else note
