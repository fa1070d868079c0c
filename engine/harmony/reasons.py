"""Why a chord has notes that its key has not, and why they are spelled so."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.harmony import numeral
from engine.harmony.spoken import listed, pretty
from engine.harmony.words import Category, Function
from engine.key import Key
from engine.pitch import Note

if TYPE_CHECKING:
    from engine.harmony.value import ChordReading

ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh")
_ITS_ROOT = "its root"


def outside(reading: ChordReading) -> str:
    """Why each note outside the key is there and spelled so."""
    return "; ".join(part for part in (_foreign(reading), *raised(reading)) if part)


def _foreign(reading: ChordReading) -> str:
    found = reading.outside
    if not found:
        return ""
    if reading.category is Category.AUGMENTED_SIXTH:  # what falls and what rises has been said
        found = tuple(note for note in found if note not in sixth(reading))
        if not found:
            return ""
    if len(found) == 1:
        why = reason(found[0], reading)
        if why == _ITS_ROOT:
            return f"{why}, {found[0].symbol}, is outside the key"
        return f"{found[0].symbol} is outside the key, {why}"
    return "outside the key are " + listed(
        [f"{note.symbol} ({reason(note, reading)})" for note in found]
    )


def raised(reading: ChordReading) -> list[str]:
    """The raised sixth and seventh of a minor key, where the chord has them."""
    key = reading.key
    if key.mode != "minor":
        return []
    leads = reading.function is Function.DOMINANT
    seventh = f"to lead to {key.tonic.symbol}" if leads else "the seventh of harmonic minor"
    found = []
    for fifths, why in ((3, "the sixth of melodic minor"), (5, seventh)):
        note = Note(key.tonic.fifths + fifths)
        if note in reading.notes and note not in reading.outside:
            found.append(f"{note.symbol} is {Note(note.fifths - 7).symbol} raised, {why}")
    return found


def reason(note: Note, reading: ChordReading) -> str:
    """In a few words why one note outside the key is there."""
    if reading.target is not None and reading.category is not Category.CADENTIAL:
        goal = reading.target
        if note.fifths == goal.fifths + 5:
            return f"the leading note of {goal.symbol}"
        if reading.category is Category.SUBSTITUTE and note.fifths == goal.fifths - 7:
            return f"in sound the leading note {Note(goal.fifths + 5).symbol}"
        if note.fifths == goal.fifths - 5:
            return f"falling to {goal.symbol}"
        if reading.category is Category.COMMON_TONE:
            return f"rising to {Note(note.fifths - 5).symbol}"
    if reading.category is Category.BLUES:
        return "the blue seventh"
    if reading.function is Function.DOMINANT and note == reading.spelled.seventh:
        return "the seventh, which falls"
    if note == reading.spelled.root:
        return _ITS_ROOT
    same = next((own for own in reading.key.scale if own.pc == note.pc), None)
    for member, own in reading.spelled.member_notes:
        if own == note and member.degree > 7 and member.alter:
            named = f"its {pretty(member.name)}"
            return f"{named}, in sound {same.symbol}" if same else named
    if same:
        return f"in sound {same.symbol}"
    degree, alter = place_in(note, reading.key)
    return f"the {altered(alter)}{ORDINALS[degree - 1]} degree"


def sixth(reading: ChordReading) -> tuple[Note, Note]:
    """The two notes of an augmented sixth."""
    low = reading.spelled.root
    return low, next(note for note in reading.notes if note.fifths == low.fifths + 10)


def place_in(note: Note, key: Key) -> tuple[int, int]:
    """Degree and alteration, against the scale of the key's own mode."""
    if key.mode in ("major", "minor"):
        return numeral.degree_of(note.fifths - key.tonic.fifths, key.is_minor)
    return key.degree(note)


def altered(alter: int) -> str:
    """`raised `, `doubly lowered `, or nothing."""
    way = "raised " if alter > 0 else "lowered " if alter < 0 else ""
    return f"doubly {way}" if abs(alter) > 1 else way
