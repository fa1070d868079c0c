"""Why a chord has notes that its key has not, and why they are spelled so."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from engine.harmony import numeral
from engine.harmony.spoken import listed, pretty
from engine.harmony.words import Category, Function
from engine.key import Key
from engine.pitch import Note

if TYPE_CHECKING:
    from engine.harmony.value import ChordReading

_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh")
_ROOT = "the root"
_FALLING = "the falling seventh"
_VERBS = {
    "the leading note of": "leads to", "rising": "rises", "falling": "falls",
    "in sound": "sounds as", _FALLING: "falls",
}  # fmt: skip
#: The notes of a blues by their place in fifths above the tonic.
_BLUE = {-2: "the blue seventh", -3: "the blue third"}
#: The degree of a mode by which it differs from major or minor, in fifths above its tonic.
_CHARACTER = {
    "dorian": (3, "sixth"), "phrygian": (-5, "second"),
    "lydian": (6, "fourth"), "mixolydian": (-2, "seventh"),
}  # fmt: skip


def outside(reading: ChordReading) -> str:
    """Why each note outside the key is there and spelled so, and those of the key's own kind."""
    parts = (_foreign(reading), _waits(reading), *_own(reading, briefly=False))
    return "; ".join(part for part in parts if part)


def outside_briefly(reading: ChordReading) -> str:
    """The same in few words: `F♯ leads to G, A is from G major`."""
    reasons = _by_reason(reading)
    groups = [
        f"{listed([note.symbol for note in notes])} {_is(why, len(notes))}"
        for why, notes in reasons.items()
    ]
    if _is_lent(reading) and (len(groups) > 1 or _ROOT in reasons):
        groups = [f"with its {listed([note.symbol for note in reading.outside])}"]
    waits = _waits(reading).replace("the third, ", "")
    told = ", ".join([*groups, *_own(reading, briefly=True)])
    return "; ".join(part for part in (told, waits) if part)


def _is(why: str, count: int) -> str:
    for said, verb in _VERBS.items():
        if why.startswith(said):
            return why.replace(said, verb, 1)
    return f"{'are' if count > 1 else 'is'} {why.removesuffix(' degree')}"


def _foreign(reading: ChordReading) -> str:
    groups = _by_reason(reading)
    notes = [note for group in groups.values() for note in group]
    if not notes:
        return ""
    names = [note.symbol for note in notes]
    is_or_are = "are" if len(names) > 1 else "is"
    if _is_lent(reading):
        why = next(iter(groups)) if len(notes) == 1 else _ROOT
        told = "" if why == _ROOT else f", {why},"
        return f"whose {listed(names)}{told} {is_or_are} outside {reading.key.symbol}"
    if len(groups) == 1:
        why = next(iter(groups))
        between = f" {why} " if why.startswith("from") else f", {why}, "
        return f"{listed(names)}{between}{is_or_are} outside {reading.key.symbol}"
    told_apart = [
        f"{listed([note.symbol for note in group])} ({_in_brackets(why)})"
        for why, group in groups.items()
    ]
    return f"outside {reading.key.symbol} are {listed(told_apart)}"


def _is_lent(reading: ChordReading) -> bool:
    """Whether all that is outside the key is so as it belongs to the key that lends the chord."""
    borrowed = reading.category is Category.BORROWED
    return borrowed and set(reading.outside) <= set(lender(reading).scale)


def _in_brackets(why: str) -> str:
    return why.removeprefix("the ").removesuffix(" degree")


def _by_reason(reading: ChordReading) -> dict[str, list[Note]]:
    """The notes outside the key, those that are there for one reason together."""
    found: dict[str, list[Note]] = {}
    told: Sequence[Note] = ()
    if reading.category is Category.AUGMENTED_SIXTH:  # what falls and what rises is its name
        told = sixth(reading)
    for note in reading.outside:
        if note not in told:
            found.setdefault(reason(note, reading), []).append(note)
    return found


def reason(note: Note, reading: ChordReading) -> str:
    """In a few words why one note outside the key is there."""
    if reading.target is not None and reading.category is not Category.CADENTIAL:
        leant = _leaning(note, reading, reading.target)
        if leant:
            return leant
    if reading.category is Category.BLUES:
        blue = _BLUE.get(note.fifths - reading.key.tonic.fifths)
        if blue:
            return blue
    falls = reading.spelled.alter(7) in (-1, -2)
    if falls and reading.function is Function.DOMINANT and note == reading.spelled.seventh:
        return _FALLING
    if note == reading.spelled.root:
        return _ROOT
    same = next((own for own in reading.key.scale if own.pc == note.pc), None)
    for member, own in reading.spelled.member_notes:
        if own == note and member.degree > 7 and member.alter:
            named = f"its {pretty(member.name)}"
            return f"{named}, in sound {same.symbol}" if same else named
    if same:
        return f"in sound {same.symbol}"
    if reading.category is Category.APPLIED and note in target_key(reading).scale:
        return f"from {target_key(reading).symbol}"
    return f"the {degree_words(*place_in(note, reading.key))} degree"


def _leaning(note: Note, reading: ChordReading, goal: Note) -> str:
    """Why a note stands in a chord that leans on a goal, where that is why."""
    if note.fifths == goal.fifths + 5:
        return f"the leading note of {goal.symbol}"
    if reading.category is Category.SUBSTITUTE and note.fifths == goal.fifths - 7:
        return f"in sound the leading note {Note(goal.fifths + 5).symbol}"
    if note.fifths == goal.fifths - 5:
        return f"falling to {goal.symbol}"
    if reading.category is Category.COMMON_TONE:
        return f"rising to {Note(note.fifths - 5).symbol}"
    return ""


def _own(reading: ChordReading, *, briefly: bool) -> list[str]:
    """The notes that the key has in a way of its own: raised in minor, or what makes a mode."""
    key = reading.key
    found = []
    for note, why in _marked(reading):
        if note not in reading.notes or note in reading.outside:
            continue
        if note in key.scale:
            found.append(f"{note.symbol} is {why}")
        else:
            told = f"{note.symbol} is {Note(note.fifths - 7).symbol} raised"
            found.append(told if briefly else f"{told}, {why}")
    return found


def _marked(reading: ChordReading) -> list[tuple[Note, str]]:
    key = reading.key
    tonic, mode = key.tonic, key.mode
    marked = []
    if mode in _CHARACTER:
        fifths, degree = _CHARACTER[mode]
        marked.append((fifths, f"the {mode} {degree}"))
    if key.is_minor and mode != "dorian":
        marked.append((3, "the sixth of melodic minor"))
    if key.is_minor:
        leads = reading.function is Function.DOMINANT
        marked.append(
            (5, f"to lead to {tonic.symbol}" if leads else "the seventh of harmonic minor")
        )
    return [(Note(tonic.fifths + fifths), why) for fifths, why in marked]


def _waits(reading: ChordReading) -> str:
    """What a suspended note stands for: `C stands in for the third, B`."""
    chord, held = reading.spelled, reading.spelled.member(4)
    if chord.third is not None or held is None:
        return ""
    third = Note(chord.root.fifths + 4)
    if reading.function is not Function.DOMINANT:
        third = next(note for note in reading.key.scale if note.letter == third.letter)
    return f"{held.symbol} stands in for the third, {third.symbol}"


def sixth(reading: ChordReading) -> tuple[Note, Note]:
    """The two notes of an augmented sixth."""
    low = reading.spelled.root
    return low, next(note for note in reading.notes if note.fifths == low.fifths + 10)


def target_key(reading: ChordReading) -> Key:
    """The key of the degree that a chord leans on; its own where it leans on none."""
    if reading.target is None:
        return reading.key
    return Key(reading.target, "minor" if reading.target_minor else "major")


def lender(reading: ChordReading) -> Key:
    """The parallel key that has the chord: minor, mixolydian, phrygian; major for minor."""
    tonic = reading.key.tonic
    notes, minor = set(reading.notes), Key(tonic, "minor")
    if reading.key.is_minor:
        usual, modes = Key(tonic, "major"), ["major", "phrygian"]
    elif notes <= {*minor.scale, Note(tonic.fifths + 5)}:
        return minor
    else:
        usual, modes = minor, ["mixolydian", "phrygian"]
    lenders = (Key(tonic, mode) for mode in modes)
    return next((key for key in lenders if notes <= set(key.scale)), usual)


def place_in(note: Note, key: Key) -> tuple[int, int]:
    """Degree and alteration, against the scale of the key's own mode."""
    if key.mode in ("major", "minor"):
        degree = numeral.degree_of(note.fifths - key.tonic.fifths, key.is_minor)
        return degree.number, degree.alter
    return key.degree(note)


def degree_words(degree: int, alter: int) -> str:
    """`sixth`, `lowered sixth`, `doubly raised fourth`."""
    way = "raised " if alter > 0 else "lowered " if alter < 0 else ""
    return f"{'doubly ' if abs(alter) > 1 else ''}{way}{_ORDINALS[degree - 1]}"
