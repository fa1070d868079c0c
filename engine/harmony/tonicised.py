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
    third, fifth, _ = triad(chord)
    if third is None or fifth is None or fifth == 1 or len(chord.members) > 5:
        return
    for (target, target_minor, nearness), above, degree in _APPROACHED[minor][chord.root.pc]:
        applied = rooted(chord, target + above)
        own = core(applied) <= (HARMONIC if minor else MAJOR_SCALE)
        fits = (
            _fits_ii(chord, target_minor, own)
            if degree == "ii"
            else _fits_iv(chord, target, target_minor)
        )
        if not fits:
            continue
        figure = numeral.figures(applied.members, numeral.bass_member(applied))
        cost = _predominant_cost(applied, degree, figure, target_minor, own)
        cost += weights().predominant_far if nearness == "far" else weights().predominant_near
        if nearness == "other":
            cost += weights().applied_other
        if not minor and applied.root.fifths == 5 and applied.bass is None and _is_half(chord):
            cost -= weights().applied_but_diatonic  # viiø7 as the ii of vi
        name = degree if third == -1 else degree.upper()
        goal = target_name(target, target_minor, minor)
        yield make(
            applied, f"{name}{numeral.quality_mark(applied)}{figure}/{goal}",
            Function.PREDOMINANT, Category.APPLIED, cost, "approach", (target, target_minor),
        )  # fmt: skip


def _is_half(chord: Chord) -> bool:
    return triad(chord) == (-1, -1, -1)


def _fits_ii(chord: Chord, target_minor: bool, own: bool) -> bool:
    third, fifth, seventh = triad(chord)
    if third != -1 or seventh not in (None, -1):
        return False
    dorian = fifth == 0 and target_minor
    return not dorian or (seventh is not None and not own)


def _fits_iv(chord: Chord, target: int, target_minor: bool) -> bool:
    """Not the tonic turned minor as the iv of V, nor a major IV of a minor degree."""
    third, fifth, _ = triad(chord)
    if target == 1 or (third == 0 and target_minor):
        return False
    return fifth == 0 and not (third == 0 and minor_seventh(chord))


def _predominant_cost(
    chord: Chord, degree: str, figure: str, target_minor: bool, own: bool
) -> float:
    w = weights()
    _, fifth, seventh = triad(chord)
    cost = w.applied_but_diatonic if own else 0.0
    if degree == "iv":
        cost += w.predominant_iv
    elif fifth == 0 and target_minor:
        cost += w.predominant_dorian
    if seventh is None:
        cost += w.predominant_triad
    elif _is_half(chord):
        cost += w.predominant_half_diminished
    elif degree == "ii" and figure == "65" and own:
        cost += w.predominant_six_five
    return cost


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
