"""Other symbols for the same notes: C6 is Am7/C."""

from __future__ import annotations

from functools import lru_cache

from engine.chord import Chord, kinds
from engine.pitch import Note


@lru_cache(maxsize=1)
def _kinds_by_semitones() -> dict[frozenset[int], str]:
    """The suffix of each kind by its pitch classes above the root, the commoner kind first."""
    found: dict[frozenset[int], str] = {}
    for kind in kinds():
        if len(kind.members) < 3 or len(kind.members) > 5:
            continue
        places = frozenset(
            (degree_semitones(degree) + alter) % 12 for degree, alter in kind.members
        )
        found.setdefault(places, kind.suffix)
    return found


def degree_semitones(degree: int) -> int:
    """Semitones of a degree of the major scale above its first."""
    return (0, 2, 4, 5, 7, 9, 11)[(degree - 1) % 7]


@lru_cache(maxsize=4096)
def other_names(chord: Chord) -> tuple[str, ...]:
    """Canonical symbols of the same pitch classes over the same bass, from other roots."""
    pcs = chord.pitch_classes
    found: list[str] = []
    for note in chord.notes:
        if note.pc == chord.root.pc:
            continue
        suffix = _kinds_by_semitones().get(frozenset((pc - note.pc) % 12 for pc in pcs))
        if suffix is None:
            continue
        root = _plain(note)
        slash = "" if note.pc == chord.bass_note.pc else f"/{chord.bass_note.name}"
        found.append(root.name + suffix + slash)
    return tuple(found)


def _plain(note: Note) -> Note:
    """A root without double accidentals."""
    if note.alter >= 2:
        return Note(note.fifths - 12)
    return Note(note.fifths + 12) if note.alter <= -2 else note
