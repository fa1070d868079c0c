"""The scale over a chord, the tensions it may take and the notes that rub."""

from __future__ import annotations

from functools import lru_cache

from engine.chord import Chord
from engine.harmony.words import Category, Function
from engine.key import Key
from engine.pitch import Note

_FROM_PARALLEL = frozenset(
    {Category.NEAPOLITAN, Category.AUGMENTED_SIXTH, Category.SUBSTITUTE, Category.BORROWED}
)


def filling_key(key: Key, category: Category, function: Function, chord: Chord) -> Key:
    """The key that gives the notes between the chord's own.

    That is the parallel minor for what is borrowed from it, else the key itself.
    """
    if key.is_minor or category not in _FROM_PARALLEL:
        return key
    if category is Category.BORROWED and function is Function.DOMINANT:
        return key
    if category is Category.SUBSTITUTE and chord.root.fifths - key.tonic.fifths > -4:
        return key
    return Key(key.tonic, "minor")


@lru_cache(maxsize=4096)
def scale_over(notes: tuple[Note, ...], root: Note, key: Key) -> tuple[Note, ...]:
    """The notes of a chord with the key's notes on the letters between, from the root up.

    So an applied dominant keeps the key's other notes. A filling note between
    two chord notes a semitone away on both sides is left out.
    """
    own = {note.pc for note in notes}
    letters = {note.letter for note in notes}
    between = [
        note
        for note in key.scale
        if note.letter not in letters
        and note.pc not in own
        and not ((note.pc + 1) % 12 in own and (note.pc - 1) % 12 in own)
    ]
    unique = {note.pc: note for note in (*between, *notes)}
    return tuple(sorted(unique.values(), key=lambda note: (note.pc - root.pc) % 12))


@lru_cache(maxsize=4096)
def colours(
    notes: tuple[Note, ...], root: Note, scale: tuple[Note, ...], dominant: bool
) -> tuple[tuple[Note, ...], tuple[Note, ...]]:
    """Usable tensions and rubbing notes among a scale's notes that the chord lacks.

    A note a semitone above a chord note rubs; over a dominant the semitones
    above root and fifth are tensions of their own (flat nine, flat thirteen).
    The third that a suspended fourth stands for rubs with it.
    """
    own = {note.pc for note in notes}
    above = {(pc - root.pc) % 12 for pc in own}
    held = (root.pc + 4) % 12 if 5 in above and not above & {3, 4} else None
    allowed = {root.pc, (root.pc + 7) % 12} if dominant else set()
    tensions: list[Note] = []
    rubs: list[Note] = []
    for note in scale:
        if note.pc in own:
            continue
        below = (note.pc - 1) % 12
        rub = note.pc == held or (below in own and below not in allowed)
        (rubs if rub else tensions).append(note)
    return tuple(tensions), tuple(rubs)
