"""Readings of a chord as a chromatic dominant or link: sixths, substitutes, common tones."""

from __future__ import annotations

from collections.abc import Iterator

from engine.chord import Chord
from engine.harmony import numeral
from engine.harmony.candidate import (
    Candidate,
    make,
    rooted,
    target_name,
    targets_at,
    triad,
)
from engine.harmony.weights import weights
from engine.harmony.words import Category, Function
from engine.pitch import Note


def _sixth_kind(chord: Chord) -> tuple[str, int] | None:
    """Which augmented sixth a chord can be, and the place of its lowest member's root."""
    third, fifth, seventh = triad(chord)
    plain = len(chord.members) <= 4
    if third == 0 and seventh == -1 and plain:
        if fifth is None:
            return "It", chord.root.fifths
        if fifth == 0:
            return "Ger", chord.root.fifths
        if fifth == -1:
            return "Fr", chord.root.fifths
    return None


def augmented_sixths(chord: Chord, minor: bool) -> Iterator[Candidate]:
    kind = _sixth_kind(chord)
    if kind is None:
        return
    w = weights()
    turns = ((0, 0.0), (6, w.turned)) if kind[0] == "Fr" else ((0, 0.0),)
    for turn, extra in turns:
        for goal, name in ((1, ""), (2, "/V")):
            # A flat above its goal: rooted four fifths below the tonic of that dominant.
            place = goal - 5
            if (chord.root.fifths + turn - place) % 12:
                continue
            root = Note(place)
            bass = next(
                (
                    root + m.interval
                    for m in chord.members
                    if (root + m.interval).pc == chord.bass_note.pc
                ),
                None,
            )
            if bass is None:
                continue
            based = Chord(root, chord.members, None if bass == root else bass)
            notes = tuple(
                Note(note.fifths + 12) if note.fifths == place - 2 else note for note in based.notes
            )
            if kind[0] == "Fr":
                notes = tuple(
                    Note(note.fifths + 12) if note.fifths == place - 6 else note for note in notes
                )
            roman = numeral.sixth_numeral(based, kind[0]) + name
            cost = w.augmented_sixth + extra + (w.applied_sixth if name else 0.0)
            yield make(
                based, roman, Function.PREDOMINANT, Category.AUGMENTED_SIXTH, cost,
                "german" if kind[0] == "Ger" and not minor else "sixth", (goal, False), notes,
            )  # fmt: skip


def substitutes(chord: Chord, minor: bool) -> Iterator[Candidate]:
    if not (chord.alter(3) == 0 and chord.alter(7) == -1 and chord.alter(5) in (0, None, -1)):
        return
    w = weights()
    place = chord.root.fifths + 5
    goals = ((0, minor, "far"),) if place % 12 == 0 else targets_at(place, minor)
    for target, target_minor, nearness in goals:
        respelled = rooted(chord, target - 5)
        cost = w.substitute if target == 0 else w.substitute_applied
        if nearness == "far" and target != 0:
            cost += w.applied_far
        name = "" if target == 0 else f"/{target_name(target, target_minor, minor)}"
        figure = numeral.figures(respelled.members, numeral.bass_member(respelled))
        yield make(
            respelled, f"subV{figure}{name}", Function.DOMINANT, Category.SUBSTITUTE, cost,
            "substitute", (target, target_minor),
        )  # fmt: skip


def common_tone(chord: Chord) -> Iterator[Candidate]:
    if triad(chord) != (-1, -1, -2) or len(chord.members) != 4:
        return
    for goal in (0, 1):
        # Spelled 1 #2 #4 6 of the chord it returns to.
        if (goal - chord.root.fifths) % 3:
            continue
        spelled = {Note(goal + off).pc: Note(goal + off) for off in (0, 9, 6, 3)}
        notes = tuple(spelled.get(note.pc, note) for note in chord.notes)
        cost = weights().common_tone
        if (goal - chord.root.fifths) % 12:
            cost += weights().turned
        roman = "CT°7" if goal == 0 else "CT°7/V"
        yield make(
            chord, roman, Function.PASSING, Category.COMMON_TONE, cost, "common", (goal, False),
            notes,
        )  # fmt: skip
