"""One sentence for a suggestion, from readings: what it is, why here, what it keeps and changes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from engine.chord import Chord
from engine.harmony import Category, ChordReading
from engine.pitch import Note
from engine.reharm.families import DOMINANT, family
from engine.reharm.fit import Fit, Hold
from engine.reharm.motion import bass_move
from engine.reharm.proposal import can_lead, up
from engine.reharm.site import Site, bars_around

_NAMED = 4  # changes of a stretch that are named one by one
_TIMES = {1: "once", 2: "twice"}
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
    """`vi, tonic: the relative minor of C; keeps C and E, G rises to A.`"""
    numerals = " ".join(reading.roman_pretty for reading in readings)
    last = readings[-1]
    function = f", {last.function}" if last.function else ""
    clauses = [f"{numerals}{function}: {because}", *_kept_and_changed(site, readings)]
    clauses.append(_melody(fit, readings))
    return "; ".join(clause for clause in clauses if clause) + "."


def _kept_and_changed(site: Site, readings: Sequence[ChordReading]) -> list[str]:
    old = site.present
    if old is None:
        return [] if site.before is None else [_shared(site.before, readings[0])]
    if len(readings) == 1:
        return [_motion(old, readings[0])]
    parts = []
    for reading in readings:
        stay, _ = _parted(old, reading)
        if reading.chord != old:
            named = f"keeps {listed(_names(stay))}" if stay else f"keeps no note of {old.pretty}"
            parts.append(f"{reading.chord.pretty} {named}")
    return parts


def _shared(before: Chord, reading: ChordReading) -> str:
    stay, fresh = _parted(before, reading)
    if not fresh and len(stay) == len(before.pitch_classes):
        if reading.chord.bass_note.pc == before.bass_note.pc:
            return f"the notes of {before.pretty} again"
        return f"the notes of {before.pretty} over {reading.chord.bass_note.symbol}"
    if not stay:
        return f"no note in common with {before.pretty} before it"
    return f"shares the note{'s' * (len(stay) > 1)} {listed(_names(stay))} with {before.pretty}"


def _parted(old: Chord, reading: ChordReading) -> tuple[list[Note], list[Note]]:
    """The notes that an old chord has too, and the new ones, as spelled in this place."""
    stay = [note for note in reading.notes if note.pc in old.pitch_classes]
    return stay, [note for note in reading.notes if note.pc not in old.pitch_classes]


def _names(notes: Sequence[Note]) -> list[str]:
    return [note.symbol for note in notes]


def _motion(old: Chord, reading: ChordReading) -> str:
    """What stays and where the rest goes: `keeps F and A, C rises to D`."""
    stay, fresh = _parted(old, reading)
    pcs = {note.pc for note in reading.notes}
    gone = [note for note in old.notes if note.pc not in pcs]
    bass = reading.chord.bass_note
    if not fresh and not gone:
        return f"the same notes over {bass.symbol}"
    keeps = f"keeps {listed(_names(stay))}" if stay else f"keeps no note of {old.pretty}"
    moves = _moves(gone, fresh)
    clauses = [f"{one.symbol} {'rises' if _gap(one, other) > 0 else 'falls'} to {other.symbol}"
               for one, other in moves]  # fmt: skip
    new = [note for note in fresh if all(note != other for _, other in moves)]
    left = [note for note in gone if all(note != one for one, _ in moves)]
    if new:
        clauses.append(f"{listed(_names(new))} {'is' if len(new) == 1 else 'are'} new")
    if left and not fresh:
        clauses.append(f"leaves out {listed(_names(left))}")
    return ", ".join([keeps, *clauses])


def _moves(gone: Sequence[Note], fresh: Sequence[Note]) -> list[tuple[Note, Note]]:
    """Old notes paired with the new ones a step away, nearest first, each once."""
    near = sorted(
        ((abs(_gap(one, other)), a, b) for a, one in enumerate(gone)
         for b, other in enumerate(fresh) if abs(_gap(one, other)) <= 2)
    )  # fmt: skip
    found: list[tuple[int, int]] = []
    for _, a, b in near:
        if all(a != one and b != other for one, other in found):
            found.append((a, b))
    return [(gone[a], fresh[b]) for a, b in sorted(found)]


def _gap(first: Note, second: Note) -> int:
    return (second.pc - first.pc + 5) % 12 - 5


def _melody(fit: Sequence[Fit], readings: Sequence[ChordReading]) -> str:
    """What the chord makes of the melody's longest held note that is no chord tone."""
    held = [each for each in fit if each.held]
    colours = [each for each in held if each.hold is not Hold.CHORD_TONE]
    if not held:
        return ""
    if not colours:
        longest = max(held, key=lambda each: each.length)
        return f"the melody’s {longest.note.pitch.note.symbol} belongs to it"
    longest = max(colours, key=lambda each: each.length)
    note = longest.note.pitch.note
    if longest.prepared:
        return f"the melody’s {note.symbol} is held over and falls"
    if len(readings) == 1:
        return f"the melody’s {note.symbol} is {_as_tension(note, readings[0].spelled)} over it"
    return f"the melody’s {note.symbol} is a tension"


_TENSIONS = {
    2: "the ninth", 3: "the minor third", 4: "the third", 5: "the eleventh",
    6: "the sharp eleventh", 7: "the fifth", 8: "the minor sixth", 9: "the sixth",
    10: "the seventh", 11: "the major seventh",
}  # fmt: skip


def _as_tension(note: Note, chord: Chord) -> str:
    above = (note.pc - chord.root.pc) % 12
    if above == 9 and chord.alter(7) is not None:
        return "the thirteenth"
    return _TENSIONS.get(above, "a tension")


def path_sentence(sites: Sequence[Site], readings: Sequence[ChordReading]) -> str:
    """What a stretch of chords keeps and changes, what leads and what is borrowed in it."""
    chords = [reading.chord for reading in readings]
    old = [site.present for site in sites]
    stay = sum(chord == before for chord, before in zip(chords, old, strict=True))
    fresh = [f"{before.pretty if before else '?'} to {chord.pretty}"
             for chord, before in zip(chords, old, strict=True) if chord != before]  # fmt: skip
    if len(fresh) <= _NAMED:
        clauses = [f"changes {listed(list(dict.fromkeys(fresh)))}"]
        if stay:
            clauses.append(f"{stay} of {len(chords)} chords stay")
    else:
        clauses = [f"{len(fresh)} of {len(chords)} chords change"]
    if len(chords) > 1:
        steps = sum(abs(bass_move(a, b)) in (1, 2) for a, b in pairwise(chords))
        basses = "–".join(chord.bass_note.symbol for chord in chords)
        walk = f", {steps} of {len(chords) - 1} moves by step" if steps else ""
        clauses.append(f"the bass goes {basses}{walk}")
    leads = [f"{a.pretty} falls to {b.pretty}" for a, b in pairwise(chords)
             if can_lead(a) and family(a) == DOMINANT and up(a, b) in (5, 11)]  # fmt: skip
    if len(leads) > _NAMED:
        clauses.append(f"{len(leads)} dominants fall to the next chord")
    elif leads:
        clauses.append(listed(list(dict.fromkeys(leads))))
    borrowed = [r.chord.pretty for r in readings if r.category is Category.BORROWED]
    if borrowed:
        one = len(set(borrowed)) == 1
        clauses.append(f"{listed(list(dict.fromkeys(borrowed)))} {'is' if one else 'are'} borrowed")
    text = "; ".join(clauses)
    return f"{text[0].upper()}{text[1:]}."


def usual(site: Site, chord: Chord, chance: float) -> str:
    """Why songs would have it here: as this song does elsewhere, else how often songs do."""
    past, future = bars_around(site)
    for lag in (4, 2, 3):
        if len(past) >= lag and _same(past[lag - 1][0], chord):
            return f"as {_NUMBERS[lag]} bars before"
        if len(future) >= lag and _same(future[lag - 1][0], chord):
            return f"as {_NUMBERS[lag]} bars after"
    times = round(100 * chance)
    often = "songs seldom have it"
    if times:
        often = f"songs have it {_TIMES.get(times) or f'{times} times'} in 100"
    before, after = site.before, site.after
    if before is not None and after is not None:
        if before == after:
            return f"{often} between two {before.pretty} chords"
        return f"{often} between {before.pretty} and {after.pretty}"
    if before is not None:
        return f"{often} after {before.pretty}"
    if after is not None:
        return f"{often} before {after.pretty}"
    return f"{often} in this mode"


def _same(first: Chord, second: Chord) -> bool:
    return first.root.pc == second.root.pc and family(first) == family(second)
