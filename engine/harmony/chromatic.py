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

_BY_FIFTH = {None: "It", 0: "Ger", -1: "Fr"}


def _sixth_kind(chord: Chord) -> str | None:
    """Which augmented sixth a chord can be."""
    third, fifth, seventh = triad(chord)
    plain = third == 0 and seventh == -1 and len(chord.members) <= 4
    return _BY_FIFTH.get(fifth) if plain else None


def augmented_sixths(chord: Chord, minor: bool) -> Iterator[Candidate]:
    kind = _sixth_kind(chord)
    if kind is None:
        return
    w = weights()
    on_low = chord.bass is not None and chord.bass == chord.fifth
    turns = ((0, 0.0), (6, 0.0 if on_low else w.turned)) if kind == "Fr" else ((0, 0.0),)
    for turn, extra in turns:
        # A flat above its goal: rooted four fifths below the tonic of that dominant.
        above = chord.root.fifths + turn + 4
        cost = w.augmented_sixth + extra
        if above % 12 == 0:
            yield from _sixth(chord, kind, (0, minor), "", cost)
        for target, lower, nearness in targets_at(above, minor):
            if nearness != "other":
                name = f"/{target_name(target, lower, minor)}"
                far = w.applied_far if nearness == "far" else 0.0
                yield from _sixth(
                    chord, kind, (target, lower or minor), name, cost + w.applied_sixth + far
                )


def _sixth(
    chord: Chord, kind: str, target: tuple[int, bool], name: str, cost: float
) -> Iterator[Candidate]:
    """The augmented sixth before the dominant of a degree, spelled from its lower note."""
    place = target[0] - 4
    root = Note(place)
    members = (root + member.interval for member in chord.members)
    bass = next((note for note in members if note.pc == chord.bass_note.pc), None)
    if bass is None:
        return
    based = Chord(root, chord.members, None if bass == root else bass)
    raised = {place - 2, place - 6} if kind == "Fr" else {place - 2}
    notes = tuple(Note(note.fifths + 12) if note.fifths in raised else note for note in based.notes)
    yield make(
        based, numeral.sixth_numeral(based, kind) + name, Function.PREDOMINANT,
        Category.AUGMENTED_SIXTH, cost, "german" if kind == "Ger" and not target[1] else "sixth",
        (target[0] + 1, False), notes,
    )  # fmt: skip


def substitutes(chord: Chord, minor: bool) -> Iterator[Candidate]:
    if not (chord.alter(3) == 0 and chord.alter(7) == -1 and chord.alter(5) in (0, None, -1)):
        return
    w = weights()
    place = chord.root.fifths + 5
    goals = ((0, minor, "far"),) if place % 12 == 0 else targets_at(place, minor)
    for target, target_minor, nearness in goals:
        if nearness == "other":
            continue
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
        if (goal - chord.root.fifths) % 12 not in (0, 3):  # named from the tone or spelled #2
            cost += weights().turned
        roman = "CT°7" if goal == 0 else "CT°7/V"
        yield make(
            chord, roman, Function.PASSING, Category.COMMON_TONE, cost, "common", (goal, False),
            notes,
        )  # fmt: skip
