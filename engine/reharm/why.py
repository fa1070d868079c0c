"""One sentence for a suggestion, from readings: what it is, why here, what it keeps and changes."""

from __future__ import annotations

from collections.abc import Sequence

from engine.chord import Chord
from engine.harmony import ChordReading
from engine.pitch import Note
from engine.reharm.fit import Fit, Hold
from engine.reharm.site import Site, bars_around

_NUMBERS = {2: "two", 3: "three", 4: "four", 5: "five"}


def listed(words: Sequence[str]) -> str:
    """`C`, `C and E`, `C, E and G`."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def kept(old: Chord, new: Chord) -> tuple[Note, ...]:
    """The notes of a chord that another one keeps, as the new one spells them."""
    return tuple(note for note in new.notes if note.pc in old.pitch_classes)


def changed(old: Chord, new: Chord) -> tuple[Note, ...]:
    """The notes that are new."""
    return tuple(note for note in new.notes if note.pc not in old.pitch_classes)


def sentence(
    site: Site, readings: Sequence[ChordReading], because: str, fit: Sequence[Fit] = ()
) -> str:
    """`vi, tonic: the relative minor of C; keeps C and E, G moves to A.`"""
    numerals = " ".join(reading.roman_pretty for reading in readings)
    last = readings[-1]
    function = f", {last.function}" if last.function else ""
    clauses = [f"{numerals}{function}: {because}"]
    old = site.present or site.before
    new = readings[0].chord
    if old is not None and len(readings) == 1:
        clauses.append(_motion(old, new, standing=site.present is not None))
    clauses.append(_melody(fit))
    return "; ".join(clause for clause in clauses if clause) + "."


def _motion(old: Chord, new: Chord, *, standing: bool) -> str:
    stay, fresh = kept(old, new), changed(old, new)
    of = "" if standing else f" of {old.pretty}"
    if not stay:
        return f"keeps no note{of}" if standing else f"no note in common with {old.pretty}"
    if not fresh:
        if new.bass_note.pc != old.bass_note.pc:
            return f"same notes, {new.bass_note.symbol} in the bass"
        return f"keeps {listed([note.symbol for note in stay])}{of}"
    keeps = f"keeps {listed([note.symbol for note in stay])}{of}"
    if len(fresh) > 2:
        return f"{keeps}, {_NUMBERS.get(len(fresh), len(fresh))} notes are new"
    return f"{keeps}, {listed([_moved(note, old) for note in fresh])}"


def _moved(note: Note, old: Chord) -> str:
    """`G moves to A`, by a step from the nearest note, or `A is new`."""
    near = min(old.notes, key=lambda each: abs(_gap(each, note)))
    gap = _gap(near, note)
    if abs(gap) > 2:
        return f"{note.symbol} is new"
    return f"{near.symbol} {'rises' if gap > 0 else 'falls'} to {note.symbol}"


def _gap(first: Note, second: Note) -> int:
    return (second.pc - first.pc + 5) % 12 - 5


def _melody(fit: Sequence[Fit]) -> str:
    """What the chord makes of the melody's longest held note that is no chord tone."""
    held = [each for each in fit if each.held]
    colours = [each for each in held if each.hold is not Hold.CHORD_TONE]
    if not held:
        return ""
    if not colours:
        return f"holds the melody’s {held[0].note.pitch.note.symbol}"
    longest = max(colours, key=lambda each: each.length)
    name = longest.note.pitch.note.symbol
    if longest.prepared:
        return f"the melody’s {name} is held over and falls"
    return f"the melody’s {name} is a tension over it"


def usual(site: Site, chord: Chord, chance: float) -> str:
    """Why songs would have it here: as this song does elsewhere, else how often songs do."""
    past, future = bars_around(site)
    for lag in (4, 2, 3):
        if len(past) >= lag and _same(past[lag - 1][0], chord):
            return f"as {_NUMBERS[lag]} bars before"
        if len(future) >= lag and _same(future[lag - 1][0], chord):
            return f"as {_NUMBERS[lag]} bars after"
    times = round(100 * chance)
    often = f"{times} times in 100" if times > 1 else "seldom"
    if times == 1:
        often = "once in 100 times"
    if site.before is not None and site.after is not None:
        if site.before == site.after:
            return f"songs go there between two {site.before.pretty} {often}"
        return f"songs go there between {site.before.pretty} and {site.after.pretty} {often}"
    if site.before is not None:
        return f"songs go there after {site.before.pretty} {often}"
    if site.after is not None:
        return f"songs come from there to {site.after.pretty} {often}"
    return f"songs in this key go there {often}"


def _same(first: Chord, second: Chord) -> bool:
    return first.root.pc == second.root.pc and first.alter(3) == second.alter(3)
