"""The sentences of a reading, composed from what was read.

The first says what the chord is here and which notes are outside the key and
why they are spelled so; the second where it wants to go and whether it does,
and which of its names was taken.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.harmony import numeral
from engine.harmony.names import other_names
from engine.harmony.words import Category, Function
from engine.key import Key
from engine.pitch import Note

if TYPE_CHECKING:
    from engine.harmony.value import ChordReading

_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh")
_KINDS = {
    "major": "major triad", "minor": "minor triad", "augmented": "augmented triad",
    "diminished": "diminished triad", "dominant": "dominant seventh", "power": "bare fifth",
    "half-diminished": "half-diminished seventh", "major-minor": "minor triad with major seventh",
    "major-sixth": "major triad with added sixth", "minor-sixth": "minor triad with added sixth",
    "suspended-fourth": "suspended fourth", "suspended-second": "suspended second",
    "pedal": "single note", "altered": "altered dominant", "six-nine": "six-nine chord",
    "suspended-seventh": "suspended dominant seventh", "suspended-ninth": "suspended ninth",
}  # fmt: skip
_INVERSIONS = {3: "in first inversion", 5: "in second inversion", 7: "in third inversion"}


def explanation(reading: ChordReading) -> str:
    """One or two sentences, with note names in ASCII."""
    first = _what(reading)
    because = _outside(reading)
    if because:
        first += f"; {because}"
    second = "; ".join(part for part in (_goes(reading), _name(reading), reading.span) if part)
    return _sentence(first) + (f" {_sentence(second)}" if second else "")


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


def _kind(reading: ChordReading) -> str:
    name = reading.spelled.kind.name
    return _KINDS.get(name, name.replace("-", " "))


def _placed(reading: ChordReading) -> str:
    """Kind and inversion: `dominant seventh in first inversion`."""
    kind = _kind(reading)
    if reading.spelled.bass is None:
        return kind
    member = numeral.bass_member(reading.spelled)
    if member is None:
        return f"{kind} over a bass of {reading.spelled.bass.name}"
    return f"{kind} {_INVERSIONS.get(member.degree, f'over its {member.name}')}"


def _degree(reading: ChordReading) -> str:
    """`the lowered sixth degree of C major`."""
    degree, alter = numeral.degree_of(
        reading.spelled.root.fifths - reading.key.tonic.fifths, reading.key.is_minor
    )
    if reading.key.is_minor and degree == 7 and alter == 1:
        return f"the leading note of {reading.key.name}"
    return f"the {_altered(alter)}{_ORDINALS[degree - 1]} degree of {reading.key.name}"


def _altered(alter: int) -> str:
    return "raised " if alter > 0 else "lowered " if alter < 0 else ""


def _what(reading: ChordReading) -> str:
    placed, key = _placed(reading), reading.key
    target = _target(reading)
    numeral_text = reading.roman
    match reading.category:
        case Category.APPLIED if reading.function is Function.PREDOMINANT:
            return f"{placed}, {numeral_text}: it prepares the dominant of {target}"
        case Category.APPLIED:
            leading = numeral_text.startswith("vii")
            kind = "leading-tone chord" if leading else "applied dominant"
            return f"{placed}, the {kind} of {target} ({numeral_text} in {key.name})"
        case Category.AUGMENTED_SIXTH:
            name = {"I": "Italian", "G": "German", "F": "French"}[numeral_text[0]]
            low, high = _sixth_notes(reading)
            return (
                f"{name} sixth ({numeral_text}): {low.name} falls and {high.name} rises "
                f"to {reading.target.name if reading.target else ''}"
            )
        case Category.SUBSTITUTE:
            stands = Note(reading.spelled.root.fifths + 6 - 12)
            stands = stands if abs(stands.alter) < 2 else Note(stands.fifths + 12)
            return f"{placed}, a tritone away from {stands.name}7 and standing for it, to {target}"
        case Category.COMMON_TONE:
            kept = reading.target.name if reading.target else ""
            return f"{placed} around the common tone {kept}, which stays while the others step"
        case Category.CADENTIAL:
            return f"cadential six-four: over {reading.spelled.bass_note.name} it delays V"
        case Category.NEAPOLITAN:
            return f"{placed} on {_degree(reading)}, the Neapolitan"
        case Category.BACKDOOR:
            return f"{placed} on {_degree(reading)}, the backdoor dominant, a step below the tonic"
        case Category.BLUES:
            return f"{placed} on {_degree(reading)}, at rest as in the blues"
        case Category.BORROWED:
            other = Key(key.tonic, "major" if key.is_minor else "minor")
            return f"{placed} on {_degree(reading)}, borrowed from {other.name}"
        case Category.MEDIANT:
            return f"{placed} on {_degree(reading)}, a chromatic mediant"
        case Category.PASSING:
            return f"{placed} on {_degree(reading)}, passing between its neighbours"
        case Category.PEDAL:
            return f"{placed} on {_degree(reading)}, over a bass that stays"
        case _:
            return f"{placed} on {_degree(reading)}, {_article(reading.function)} chord"


def _article(function: Function) -> str:
    return f"a {function.value}"


def _target(reading: ChordReading) -> str:
    """The chord leant on, as a symbol: `Dm`."""
    if reading.target is None:
        return "the tonic"
    return reading.target.name + ("m" if reading.target_minor else "")


def _sixth_notes(reading: ChordReading) -> tuple[Note, Note]:
    low = reading.spelled.root
    return low, next(note for note in reading.notes if note.fifths == low.fifths + 10)


def _outside(reading: ChordReading) -> str:
    """Why each note outside the key is there and spelled so."""
    outside = reading.outside
    if not outside:
        raised = _raised(reading)
        if raised is None:
            return ""
        natural = Note(raised.fifths - 7)
        return f"{raised.name} is {natural.name} raised, to lead to {reading.key.tonic.name}"
    if len(outside) == 1:
        return f"{outside[0].name} is outside the key, {_reason(outside[0], reading)}"
    listed = [f"{note.name} is {_reason(note, reading)}" for note in outside]
    return f"outside the key, {', '.join(listed[:-1])} and {listed[-1]}"


def _raised(reading: ChordReading) -> Note | None:
    """The raised seventh of a minor key, where the chord has it."""
    if not reading.key.is_minor:
        return None
    leading = Note(reading.key.tonic.fifths + 5)
    return leading if leading in reading.notes and not reading.key.contains(leading) else None


def _reason(note: Note, reading: ChordReading) -> str:
    if reading.target is not None and reading.category is not Category.CADENTIAL:
        goal = reading.target
        if note.fifths == goal.fifths + 5:
            return f"the leading note of {goal.name}"
        if note.fifths == goal.fifths - 5:
            return f"a semitone above {goal.name}, to which it falls"
        if reading.category is Category.COMMON_TONE:
            return f"a semitone below {Note(note.fifths - 5).name}, to which it rises"
    if reading.category is Category.BLUES:
        return "the blue seventh"
    if reading.function is Function.DOMINANT and note == reading.spelled.seventh:
        return "the seventh, which falls"
    degree, alter = numeral.degree_of(note.fifths - reading.key.tonic.fifths, reading.key.is_minor)
    return f"the {_altered(alter)}{_ORDINALS[degree - 1]} degree"


def _goes(reading: ChordReading) -> str:
    """Where it wants to go, and whether it does."""
    if not reading.resolves_to:
        return ""
    wish = f"it wants {reading.resolves_to}"
    if reading.resolves is None or reading.after is None:
        return wish
    if reading.resolves:
        return f"{wish}, which follows"
    return f"{wish} but goes to {reading.after.symbol}{_deceptive(reading)}"


def _deceptive(reading: ChordReading) -> str:
    after, goal = reading.after, reading.target or reading.key.tonic
    if after is None or reading.function is not Function.DOMINANT:
        return ""
    up = (after.root.pc - goal.pc) % 12
    return ", a deceptive turn" if up in (8, 9) and after.alter(3) is not None else ""


def _name(reading: ChordReading) -> str:
    """Which other names the notes have, and why this one was kept."""
    others = other_names(reading.chord)
    if not others or reading.category is Category.CADENTIAL:
        return ""
    listed = " or ".join(others[:2])
    root = reading.spelled.root.name
    if reading.chord.bass is None:
        return f"the same notes make {listed}, but {root} is the bass and acts as the root"
    return f"the same notes make {listed}, but {root} acts as the root"
