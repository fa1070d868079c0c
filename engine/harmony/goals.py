"""Where a chord wants to go and whether it goes there, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.chord import Chord
from engine.harmony.reasons import place_in
from engine.harmony.spoken import pretty
from engine.harmony.words import Category, Function
from engine.pitch import Note

if TYPE_CHECKING:
    from engine.harmony.value import ChordReading

_STEADY = (Category.DIATONIC, Category.BORROWED, Category.SUSPENDED)


def goes(reading: ChordReading) -> str:
    """`it wants G, which follows`; of a chord that only leans, `it could lead to the dominant`."""
    if not reading.resolves_to:
        return _leans(reading)
    wish = f"it wants {pretty(reading.resolves_to)}"
    if reading.resolves is None or reading.after is None:
        return wish
    if not reading.resolves and _substituted(reading):
        return f"{wish}, for which its tritone substitute {reading.after.pretty} comes"
    if not reading.resolves and (reading.category is Category.PEDAL or "pedal" in reading.span):
        return ""  # it stands over a bass that stays, and goes nowhere
    if not reading.resolves and "the third comes" in reading.span:
        return wish  # where it goes is told of the chord that has the third
    if not reading.resolves and reading.after.root.pc == _wanted(reading).pc:
        return f"{wish}, which comes only as {reading.after.pretty}"
    if not reading.resolves:
        return f"{wish} but goes to {reading.after.pretty}{_deceptive(reading)}"
    goal = _wanted(reading)
    if _delayed(goal, reading.after):
        return f"{wish}, {_by(reading.after)}"
    if reading.function is Function.PREDOMINANT and reading.after.root.pc != goal.pc:
        leads = (reading.after.root.pc - goal.pc) % 12 == 11
        return f"{wish}, {'before' if leads else 'for'} which {reading.after.pretty} comes"
    other = reading.after.alter(3) == (0 if _wants_minor(reading) else -1)
    return f"{wish}, which follows{f' as {reading.after.pretty}' if other else ''}"


def goes_briefly(reading: ChordReading) -> str:
    """What follows: `Am follows`, `F follows instead`, `C/G delays G`."""
    after, told = reading.after, goes(reading)
    if after is None or not told:
        return told
    if told.endswith(" delays"):
        return f"{after.pretty} delays {pretty(reading.resolves_to) or 'the dominant'}"
    return f"{after.pretty} follows{' instead' if reading.resolves is False else ''}"


def _leans(reading: ChordReading) -> str:
    """Where a chord that wants no single chord may go, and what follows."""
    if reading.category not in _STEADY or reading.key.mode not in ("major", "minor"):
        return ""
    if reading.function is Function.PREDOMINANT:
        return _towards_dominant(reading)
    if reading.function is Function.DOMINANT:
        return _back(reading)
    return ""


def _towards_dominant(reading: ChordReading) -> str:
    after, fifth = reading.after, Note(reading.key.tonic.fifths + 1)
    if after is None:
        return "it could lead to the dominant"
    leading = Note(fifth.fifths + 4)
    if reading.delayed and _delayed(fifth, after):
        return f"it leads to the dominant, {_by(after)}"
    major = reading.key.is_minor or after.alter(3) != -1
    over_fifth = after.bass_is_foreign and after.bass_note.pc == fifth.pc
    if (after.root.pc == fifth.pc and major) or over_fifth:
        return f"it leads to the dominant, and {after.pretty} follows"
    if after.root.pc == leading.pc and after.alter(5) == -1:
        return f"it leads to the dominant, for which {after.pretty} comes"
    return f"it could lead to the dominant; here {_went(reading, after)}"


def _back(reading: ChordReading) -> str:
    """Of a dominant without the leading note: back to the tonic, of VII on to III, ♭VII to IV."""
    after, home = reading.after, reading.key.tonic
    tonic = home.symbol + ("m" if reading.key.is_minor else "")
    if after is None:
        return f"it could lead back to {tonic}"
    if _is_home(reading, after):
        return f"it leads back to {after.pretty}"
    if place_in(reading.spelled.root, reading.key)[0] == 7 and _is_relative(reading, after.root):
        return f"it leads on to {after.pretty}, as its dominant"
    root, fourth = reading.spelled.root, Note(home.fifths - 1)
    if root.fifths == home.fifths - 2 and after.root.pc == fourth.pc and after.alter(3) == 0:
        return f"it leads on to {after.pretty}, as {fourth.symbol} does to {tonic}"
    return f"it could lead back to {tonic}; here {after.pretty} follows"


def _is_relative(reading: ChordReading, root: Note) -> bool:
    key = reading.key
    return key.is_minor and root.pc == Note(key.tonic.fifths - 3).pc


def _went(reading: ChordReading, after: Chord) -> str:
    back = _is_home(reading, after)
    return f"it falls back to {after.pretty}" if back else f"{after.pretty} follows"


def _is_home(reading: ChordReading, after: Chord) -> bool:
    """Whether a chord is the tonic at rest: a tonic turned into a dominant leads on."""
    third = -1 if reading.key.is_minor else 0
    turned = after.alter(3) == 0 and after.alter(7) == -1
    return after.root.pc == reading.key.tonic.pc and after.alter(3) in (third, None) and not turned


def _by(after: Chord) -> str:
    six_four = "the six-four " if after.fifth == after.bass and after.seventh is None else ""
    return f"which {six_four}{after.pretty} delays"


def _wanted(reading: ChordReading) -> Note:
    """The root that is wanted: of what prepares a dominant, that dominant's."""
    goal = reading.target or reading.key.tonic
    prepares = reading.category is Category.NEAPOLITAN or (
        reading.category is Category.APPLIED and reading.function is Function.PREDOMINANT
    )
    return Note(goal.fifths + 1) if prepares else goal


def _wants_minor(reading: ChordReading) -> bool:
    return reading.resolves_to.endswith("m")


def _substituted(reading: ChordReading) -> bool:
    """Whether the dominant that is wanted comes as the dominant seventh a tritone away."""
    after, goal = reading.after, reading.target
    if after is None or goal is None or reading.function is not Function.DOMINANT:
        return False
    return (after.root.pc - goal.pc) % 12 == 6 and after.alter(3) == 0 and after.alter(7) == -1


def _delayed(goal: Note, after: Chord) -> bool:
    return after.bass is not None and after.bass.pc == goal.pc and after.root.pc != goal.pc


def _deceptive(reading: ChordReading) -> str:
    after, goal = reading.after, reading.target or reading.key.tonic
    if after is None or reading.function is not Function.DOMINANT:
        return ""
    if reading.chord.bass is not None:  # G/B to Am is a bass that walks down
        return ""
    up = (after.root.pc - goal.pc) % 12
    shares = (up, after.alter(3)) in ((8, 0), (9, -1))
    return ", a deceptive turn" if shares and (up, after.alter(7)) != (8, -1) else ""
