"""Readings of what stands before another degree's dominant: its ii and iv, six-four, Neapolitan."""

from __future__ import annotations

from collections.abc import Iterator

from engine.harmony import words
from engine.harmony.build import Build, Stack, bass_spelled
from engine.harmony.candidate import HARMONIC, MAJOR_SCALE, TARGETS, Candidate, targets_at
from engine.harmony.weights import weights

# What may be approached as whose ii or iv, by the place of the root.
_APPROACHED = {
    minor: [
        [
            (target, above, degree)
            for target in targets
            for above, degree in ((2, "ii"), (-1, "iv"))
            if (target[0] + above - place) % 12 == 0
        ]
        for place in range(12)
    ]
    for minor, targets in TARGETS.items()
}


def is_predominant(stack: Stack) -> bool:
    """Whether it can be the ii or iv of a degree: no dominant seventh, nor an altered major."""
    if stack.third == 0 and (stack.fifth != 0 or stack.seventh == -1):
        return False
    return stack.third is not None and stack.fifth not in (None, 1) and len(stack.members) <= 5


def applied_predominants(root: int, build: Build, minor: bool) -> Iterator[Candidate]:
    spelled = bass_spelled(build)
    for (goal, target_minor, nearness, name), above, degree in _APPROACHED[minor][root % 12]:
        place = goal + above
        own = spelled.within(place, HARMONIC if minor else MAJOR_SCALE)
        fits = (
            _fits_ii(build, target_minor, own)
            if degree == "ii"
            else _fits_iv(build, goal, target_minor)
        )
        if not fits:
            continue
        cost = _predominant_cost(spelled, degree, target_minor, own)
        cost += weights().predominant_far if nearness == "far" else weights().predominant_near
        if nearness == "other":
            cost += weights().applied_other
        if not minor and place == 5 and build.bass is None and _is_half(build):
            cost -= weights().applied_but_diatonic  # viiø7 as the ii of vi
        head = degree if build.third == -1 else degree.upper()
        yield Candidate(
            place, spelled, f"{head}{spelled.stack.mark}{spelled.figures}/{name}",
            words.PREDOMINANT, words.APPLIED, cost, "approach", goal, target_minor,
        )  # fmt: skip


def _is_half(build: Build) -> bool:
    return build.third == build.fifth == build.seventh == -1


def _fits_ii(build: Build, target_minor: bool, own: bool) -> bool:
    if build.third != -1 or build.seventh not in (None, -1):
        return False
    dorian = build.fifth == 0 and target_minor
    return not dorian or (build.seventh is not None and not own)


def _fits_iv(build: Build, target: int, target_minor: bool) -> bool:
    """Not the tonic turned minor as the iv of V, nor a major IV of a minor degree."""
    if target == 1 or (build.third == 0 and target_minor):
        return False
    return build.fifth == 0 and not (build.third == 0 and build.minor_seventh)


def _predominant_cost(build: Build, degree: str, target_minor: bool, own: bool) -> float:
    w = weights()
    cost = w.applied_but_diatonic if own else 0.0
    if degree == "iv":
        cost += w.predominant_iv
    elif build.fifth == 0 and target_minor:
        cost += w.predominant_dorian
    if build.seventh is None:
        cost += w.predominant_triad
    elif _is_half(build):
        cost += w.predominant_half_diminished
    elif degree == "ii" and build.figures == "65" and own:
        cost += w.predominant_six_five
    return cost


def is_major_triad(stack: Stack) -> bool:
    """Whether over its third it can be a Neapolitan."""
    return (stack.third, stack.fifth, stack.seventh) == (0, 0, None)


def applied_neapolitans(root: int, build: Build, minor: bool) -> Iterator[Candidate]:
    """A major triad over its third, a semitone above a degree whose dominant comes."""
    if build.within(root, HARMONIC if minor else MAJOR_SCALE):
        return
    for goal, target_minor, nearness, name in targets_at(root + 5, minor):
        if nearness == "near":
            yield Candidate(
                goal - 5, bass_spelled(build), f"N6/{name}", words.PREDOMINANT, words.APPLIED,
                weights().applied_neapolitan, "approach", goal, target_minor,
            )  # fmt: skip


def is_triad(stack: Stack) -> bool:
    """Whether over its fifth it can be a six-four."""
    return stack.third is not None and stack.fifth == 0 and len(stack.members) == 3


def applied_six_fours(root: int, build: Build, minor: bool) -> Iterator[Candidate]:
    """The six-four of a degree before its dominant; not where its bass is the tonic, a pedal."""
    for goal, target_minor, nearness, name in targets_at(root, minor):
        if goal == -1 or target_minor != (build.third == -1) or nearness == "far":
            continue
        yield Candidate(
            goal, bass_spelled(build), f"Cad64/{name}", words.DOMINANT, words.CADENTIAL,
            weights().applied_six_four, "cadential", goal + 1,
        )  # fmt: skip
