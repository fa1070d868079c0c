"""Readings of what stands before another degree's dominant: its ii and iv, six-four, Neapolitan."""

from __future__ import annotations

from collections.abc import Iterator

from engine.chord import Chord
from engine.harmony import numeral
from engine.harmony.candidate import (
    HARMONIC,
    MAJOR_SCALE,
    TARGETS,
    Candidate,
    core,
    make,
    minor_seventh,
    rooted,
    target_name,
    targets_at,
    triad,
)
from engine.harmony.weights import weights
from engine.harmony.words import Category, Function

# What may be approached as whose ii or iv, by the pitch class of the root.
_APPROACHED = {
    minor: [
        [
            (target, above, degree)
            for target in targets
            for above, degree in ((2, "ii"), (-1, "iv"))
            if (target[0] + above) * 7 % 12 == pc
        ]
        for pc in range(12)
    ]
    for minor, targets in TARGETS.items()
}


def applied_predominants(chord: Chord, minor: bool) -> Iterator[Candidate]:
    third, fifth, seventh = triad(chord)
    if third is None or fifth is None or fifth == 1 or len(chord.members) > 5:
        return
    w = weights()
    own = core(chord) <= (HARMONIC if minor else MAJOR_SCALE)
    for (target, target_minor, nearness), above, degree in _APPROACHED[minor][chord.root.pc]:
        dorian = degree == "ii" and fifth == 0 and target_minor
        if degree == "ii" and (third != -1 or seventh not in (None, -1)):
            continue
        if dorian and (own or seventh is None):
            continue
        if degree == "iv" and (target == 1 or (third == 0 and target_minor)):
            continue  # the tonic turned minor; IV of a minor degree
        if degree == "iv" and (fifth != 0 or (third == 0 and minor_seventh(chord))):
            continue
        applied = rooted(chord, target + above)
        figure = numeral.figures(applied.members, numeral.bass_member(applied))
        cost = w.predominant_far if nearness == "far" else w.predominant_near
        if nearness == "other":
            cost += w.applied_other
        if dorian:
            cost += w.predominant_dorian
        elif degree == "iv":
            cost += w.predominant_iv
        if seventh is None:
            cost += w.predominant_triad
        elif fifth == -1 and seventh == -1:
            cost += w.predominant_half_diminished
            if not minor and applied.root.fifths == 5 and chord.bass is None:
                cost -= w.applied_but_diatonic
        elif degree == "ii" and figure == "65" and own:
            cost += w.predominant_six_five
        if core(applied) <= (HARMONIC if minor else MAJOR_SCALE):
            cost += w.applied_but_diatonic
        name = degree if third == -1 else degree.upper()
        goal = target_name(target, target_minor, minor)
        yield make(
            applied, f"{name}{numeral.quality_mark(applied)}{figure}/{goal}",
            Function.PREDOMINANT, Category.APPLIED, cost, "approach", (target, target_minor),
        )  # fmt: skip


def applied_neapolitans(chord: Chord, minor: bool) -> Iterator[Candidate]:
    """A major triad over its third, a semitone above a degree whose dominant comes."""
    if triad(chord) != (0, 0, None) or chord.bass is None or chord.bass != chord.third:
        return
    if core(chord) <= (HARMONIC if minor else MAJOR_SCALE):
        return
    for target, target_minor, nearness in targets_at(chord.root.fifths + 5, minor):
        if nearness == "near":
            yield make(
                rooted(chord, target - 5), f"N6/{target_name(target, target_minor, minor)}",
                Function.PREDOMINANT, Category.APPLIED, weights().applied_neapolitan,
                "approach", (target, target_minor),
            )  # fmt: skip


def applied_six_fours(chord: Chord, minor: bool) -> Iterator[Candidate]:
    """The six-four of a degree before its dominant; not where its bass is the tonic, a pedal."""
    if chord.bass is None or chord.bass.fifths != chord.root.fifths + 1:
        return
    if chord.alter(3) is None or chord.alter(5) != 0 or len(chord.members) != 3:
        return
    lower = chord.alter(3) == -1
    for target, target_minor, nearness in targets_at(chord.root.fifths, minor):
        if target == -1 or target_minor != lower or nearness == "far":
            continue
        yield make(
            rooted(chord, target), f"Cad64/{target_name(target, target_minor, minor)}",
            Function.DOMINANT, Category.CADENTIAL, weights().applied_six_four,
            "cadential", (target + 1, False),
        )  # fmt: skip
