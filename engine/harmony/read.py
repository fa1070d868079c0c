"""Reading one chord in a key, with a look at its neighbours."""

from __future__ import annotations

from engine.chord import Chord
from engine.harmony.value import Category, ChordReading, Function
from engine.key import Key
from engine.pitch import Note

_ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII")
_TRIAD_FIGURES = {1: "", 3: "6", 5: "64"}
_SEVENTH_FIGURES = {1: "7", 3: "65", 5: "43", 7: "42"}
_FUNCTIONS = {
    1: Function.TONIC, 2: Function.PREDOMINANT, 3: Function.TONIC, 4: Function.PREDOMINANT,
    5: Function.DOMINANT, 6: Function.TONIC, 7: Function.DOMINANT,
}  # fmt: skip


def numeral_of(chord: Chord, key: Key) -> str:
    """The plain numeral of a chord by its root, with figures."""
    degree, alter = key.degree(chord.root)
    third, fifth = chord.alter(3), chord.alter(5)
    base = _ROMAN[degree - 1]
    if third == -1:
        base = base.lower()
    if key.is_minor and degree == 7 and alter == 1 and third == -1 and fifth == -1:
        alter = 0
    sign = "#" * alter if alter > 0 else "b" * -alter
    mark = ""
    if fifth == -1 and third == -1:
        mark = "ø" if chord.alter(7) == -1 else "°"
    elif fifth == 1 and third == 0:
        mark = "+"
    return sign + base + mark + figures_of(chord)


def figures_of(chord: Chord) -> str:
    degree = next((m.degree for m, note in chord.member_notes if note.pc == chord.bass_note.pc), 0)
    seventh = chord.alter(7) is not None
    table = _SEVENTH_FIGURES if seventh else _TRIAD_FIGURES
    figures = table.get(degree, "7" if seventh else "")
    if degree == 0:
        figures += f"/{chord.bass_note.name}"
    return figures


def read_chord(
    chord: Chord, key: Key, before: Chord | None = None, after: Chord | None = None
) -> ChordReading:
    """The reading of one chord in a key, between its neighbours."""
    roman = numeral_of(chord, key)
    category, target = Category.DIATONIC, None
    outside = tuple(note for note in chord.notes if not key.contains(note))
    function = _FUNCTIONS[key.degree(chord.root)[0]]
    foreign = [note for note in outside if not _raised(note, key)]
    if foreign:
        category = Category.BORROWED
        goal = Note(chord.root.fifths - 1)
        if chord.alter(3) == 0 and chord.alter(5) == 0 and key.contains(goal):
            category, target, function = Category.APPLIED, goal, Function.DOMINANT
            roman = f"V{figures_of(chord)}/{_target(goal, key)}"
        elif chord.alter(3) == -1 and chord.alter(5) == -1:
            goal = Note(chord.root.fifths - 5)
            if key.contains(goal):
                category, target, function = Category.APPLIED, goal, Function.DOMINANT
                mark = "ø" if chord.alter(7) == -1 else "°"
                roman = f"vii{mark}{figures_of(chord)}/{_target(goal, key)}"
    resolves = None if after is None or target is None else after.root.pc == target.pc
    return ChordReading(
        chord=chord, key=key, roman=roman, function=function, category=category,
        notes=chord.notes, outside=outside, scale=key.scale, target=target, resolves=resolves,
        resolves_to=target.name if target else "", before=before, after=after,
        explanation=f"{roman} in {key.name}: {function.value}, {category.value}.",
    )  # fmt: skip


def _raised(note: Note, key: Key) -> bool:
    degree, alter = key.degree(note)
    return key.is_minor and alter == 1 and degree in (6, 7)


def _target(goal: Note, key: Key) -> str:
    degree, _ = key.degree(goal)
    major = {"major": (1, 4, 5), "minor": (3, 5, 6, 7)}.get(key.mode, (1, 4, 5))
    base = _ROMAN[degree - 1]
    return base if degree in major else base.lower()
