"""Readings of a chord as the dominant of another degree: applied dominants, held or plain."""

from __future__ import annotations

from collections.abc import Iterator

from engine.harmony import words
from engine.harmony.build import Build, Stack, bass_spelled, plain_numeral, turned
from engine.harmony.candidate import (
    MAJOR_SCALE,
    MINOR_SCALE,
    TARGETS,
    Candidate,
    Target,
    targets_at,
)
from engine.harmony.weights import weights


def is_dominant(stack: Stack) -> bool:
    """Whether it can be an applied dominant, with its third or with a suspension."""
    fifth, seventh = stack.fifth, stack.seventh
    if stack.suspended:
        return seventh in (None, -1)
    return (
        stack.third == 0
        and fifth in (0, None, 1, -1)
        and seventh in (None, -1)
        and not (fifth == -1 and seventh is None)
    )


def _applied_cost(root: int, build: Build, target: Target, minor: bool) -> float:
    w = weights()
    goal, _, nearness, _ = target
    cost = w.applied_far if nearness == "far" else w.applied_near
    if nearness == "other":
        told = build.has_seventh and goal == 1
        cost += w.applied_other + (w.applied_other_seventh if told else 0.0)
    if goal == 1:
        cost -= w.applied_to_dominant
    if not build.has_seventh:
        cost += w.applied_triad
    diatonic = build.within(root, MINOR_SCALE if minor else MAJOR_SCALE)
    if diatonic and not (minor and goal == -3 and _leads(build)):
        cost += w.applied_but_diatonic
    return cost


def _leads(build: Build) -> bool:
    """Whether a dominant says that it is one by more than its root."""
    return build.has_seventh or build.on_third or build.fifth == -1


def applied_dominants(root: int, build: Build, minor: bool) -> Iterator[Candidate]:
    w, spelled = weights(), bass_spelled(build)
    for target in targets_at(root - 1, minor):
        own = target[0] + 1
        cost = _applied_cost(own, spelled, target, minor)
        if build.stack.suspended:
            cost += w.applied_suspended
        if own != root:
            cost += w.respelled
        if build.fifth == -1 and build.on_fifth:
            cost += w.turned  # a French sixth
        yield _leaning(own, spelled, "V", target, cost)


def is_leading(stack: Stack) -> bool:
    """Whether it can be a leading-tone chord."""
    return stack.third == stack.fifth == -1 and stack.seventh in (None, -1, -2)


def leading_tone_chords(root: int, build: Build, minor: bool) -> Iterator[Candidate]:
    w = weights()
    place = root - 5
    for target in TARGETS[minor] if build.stack.symmetrical else targets_at(place, minor):
        goal, target_minor, _, _ = target
        off = (goal - place) % 12
        if off % 3:
            continue
        own, applied = goal + 5, bass_spelled(build)
        cost = w.leading_tone
        if off:
            turn = _nearest(off, own - root)
            own, applied = root + turn, turned(build, turn)
            cost += w.turned
        elif own != root:
            cost += w.respelled
        cost += _applied_cost(own, applied, target, minor)
        if build.seventh == -1:
            lower = target_minor or goal in (2, 3, 4)
            cost += w.half_diminished + (w.half_diminished_to_minor if lower else 0.0)
        yield _leaning(own, applied, "vii", target, cost)


def _leaning(root: int, build: Build, degree: str, target: Target, cost: float) -> Candidate:
    goal, lower, _, name = target
    return Candidate(
        root, build, f"{degree}{build.stack.mark}{build.figures}/{name}", words.DOMINANT,
        words.APPLIED, cost, "applied", goal, lower,
    )  # fmt: skip


def is_held_chord(stack: Stack) -> bool:
    """Whether over another bass it can be a suspended dominant: `Am7/D`, `F/G`."""
    if stack.fifth != 0 or len(stack.members) > 4:
        return False
    return _on_second(stack) or (stack.third == 0 and stack.seventh in (None, 0))


def _on_second(stack: Stack) -> bool:
    """Whether its bass has to be the fourth above its root, else the second."""
    return stack.third == stack.seventh == -1


def is_held(build: Build) -> bool:
    """Whether its bass is the one that makes it a suspended dominant."""
    return build.bass is not None and -build.bass % 12 == (1 if _on_second(build.stack) else 10)


def held_dominants(root: int, build: Build, minor: bool) -> Iterator[Candidate]:
    """A suspended dominant of another degree as a chord over its bass: `Am7/D` before D7 or G."""
    spelled = bass_spelled(build)
    for goal, target_minor, nearness, _ in targets_at(root + (build.bass or 0) - 1, minor):
        if nearness == "other":
            continue
        own = goal + 1 + (1 if _on_second(build.stack) else -2)
        yield Candidate(
            own, spelled, plain_numeral(own, spelled, minor), words.DOMINANT, words.APPLIED,
            weights().suspended_over_bass, "held", goal, target_minor,
        )  # fmt: skip


def _nearest(off: int, exact: int) -> int:
    return exact if exact % 12 == off else off
