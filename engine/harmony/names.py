"""Other symbols for the same notes: C6 is Am7/C, F/G is G9sus4 without its fifth."""

from __future__ import annotations

from functools import lru_cache

from engine.chord import Chord, kinds
from engine.pitch import Note


@lru_cache(maxsize=1)
def _kinds_by_semitones() -> dict[frozenset[int], str]:
    """The suffix of each kind by its pitch classes above the root, the commoner kind first."""
    found: dict[frozenset[int], str] = {}
    for kind in kinds():
        rare = kind.own and "suspended" in kind.name and kind.suffix != "7sus4"
        if rare or not 3 <= len(kind.members) <= 5:
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
        if suffix is None or (suffix.endswith("/9") and note.pc != chord.bass_note.pc):
            continue
        root = _plain(note)
        if chord.root.alter == 0 and root.name in _WHITE:  # F/A, not E sharp, of A minor with #5
            root = Note(root.fifths - 12 * root.alter)
        slash = "" if note.pc == chord.bass_note.pc else f"/{chord.bass_note.name}"
        found.append(root.name + suffix + slash)
    return (*_over_its_bass(chord), *found)


# White keys by their names from another side.
_WHITE = frozenset({"E#", "B#", "Fb", "Cb"})
# A suspended dominant by the semitones above its bass.
_SUSPENDED = {
    frozenset({0, 2, 5, 7, 10}): "9sus4", frozenset({0, 2, 5, 10}): "9sus4(no5)",
    frozenset({0, 2, 5, 9, 10}): "13sus4(no5)", frozenset({0, 2, 5, 7, 9, 10}): "13sus4",
}  # fmt: skip


def _over_its_bass(chord: Chord) -> list[str]:
    """A suspended dominant as a chord over a foreign bass (`Gm7/C`), and the other way about."""
    bass = chord.bass_note
    suffix = _SUSPENDED.get(frozenset((pc - bass.pc) % 12 for pc in chord.pitch_classes))
    if suffix is None:
        return []
    if chord.bass_is_foreign:
        return [_plain(bass).name + suffix]
    if chord.bass is not None:
        return []
    upper = chord.pitch_classes - {bass.pc}
    for note in (Note(bass.fifths + 1), Note(bass.fifths - 1)):
        kind = _kinds_by_semitones().get(frozenset((pc - note.pc) % 12 for pc in upper))
        if kind in ("m7", "maj7", ""):
            return [f"{_plain(note).name}{kind}/{bass.name}"]
    return []


def _plain(note: Note) -> Note:
    """A root without double accidentals."""
    if note.alter >= 2:
        return Note(note.fifths - 12)
    return Note(note.fifths + 12) if note.alter <= -2 else note
