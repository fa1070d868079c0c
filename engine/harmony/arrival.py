"""Where a chord that leans goes: to its goal, on from it, past it, or elsewhere.

Each asks of a reading and the next; `shift` is how many fifths the tonic moves between them.
"""

from __future__ import annotations

from engine.harmony import words
from engine.harmony.candidate import Candidate


def resolves(before: Candidate, after: Candidate, shift: int) -> bool:
    """Whether a chord that leans goes where it leans."""
    if before.target is None:
        return False
    if before.kind == "approach":
        return same_target(before, after, shift)
    arrives = same(after.acting_root + shift, before.target)
    six_four = after.build.bass == 1 and not shift
    return arrives or (six_four and six_four_of(before.target, after))


def same(one: int, other: int) -> bool:
    """Whether two places on the line of fifths sound the same."""
    return (one - other) % 12 == 0


def six_four_of(goal: int, after: Candidate) -> bool:
    """Whether a six-four is the one that delays `goal`, a dominant, in the same key."""
    if after.kind == "cadential":
        return after.target is not None and same(after.target, goal)
    return after.root == 0 and same(goal, 1)


def other_mode(before: Candidate, after: Candidate) -> bool:
    """Whether a goal is minor where major was named, or the other way about."""
    third = after.build.third
    return third is not None and (third == -1) != before.target_minor


def goes_on(before: Candidate, after: Candidate) -> bool:
    """Whether ii, iii, vi comes as the next dominant of a chain, which does not turn it major.

    A triad on iv may also stand for itself.
    """
    if after.kind != "applied" or after.build.third == -1:
        return False
    seventh = after.build.seventh is not None
    return before.target in (2, 3, 4) or (before.target_minor and (before.target != -1 or seventh))


def same_target(before: Candidate, after: Candidate, shift: int) -> bool:
    """Whether the next chord leans on the same degree, so that it is still to come."""
    if before.target is None or after.target is None:
        return False
    away = (before.target - after.target - shift) % 12
    if after.kind == "cadential":
        return before.kind == "approach" and away == 11
    if away or after.kind not in ("applied", "approach", "substitute"):
        return False
    return before.kind != "approach" or before.target_minor == after.target_minor


def deceives(before: Candidate, after: Candidate, root: int, above: int) -> bool:
    """Whether a deceptive turn comes, to the sixth degree of the goal or of its minor."""
    minor_third = after.build.third == -1 and after.build.fifth != -1
    if above == 8:
        turns = not minor_third and after.kind != "substitute"
        return turns and not _around_tonic(before, root)
    tonic_of_minor = before.target == -3 and root == 0
    return minor_third and not before.target_minor and not tonic_of_minor


def stays_within(before: Candidate, after: Candidate, root: int) -> bool:
    """Whether a diminished seventh goes to the dominant seventh that has three of its notes.

    It is then that dominant's own leading-tone chord, on whichever of its notes it stands.
    """
    assert before.target is not None
    dominant = after.kind in ("plain", "applied") and after.function is words.DOMINANT
    dominant = dominant and after.build.third == 0 and after.build.seventh == -1
    return dominant and (root - 1 - before.target) % 3 == 0


def _around_tonic(before: Candidate, root: int) -> bool:
    """Whether a diminished seventh comes to the tonic: it keeps that note and deceives nobody."""
    return root == 0 and before.build.seventh == -2


def is_second(before: Candidate, after: Candidate, root: int, shift: int) -> bool:
    """Whether a II, or half-diminished on the raised fourth, goes on as pop songs have it."""
    build = before.build
    if build.seventh is not None or build.third == -1:
        return build.third == build.seventh == -1 and same(root, -1)
    home = same(root, 0) and after.build.bass is None
    stays = home or (after.bass + shift) % 12 == 0
    placed = build.bass is None or (before.bass == 0 and stays)
    return (same(root, -1) or home) and placed


def leads_in_minor(before: Candidate, after: Candidate) -> bool:
    """Whether a chord to III or VII of a minor key has their leading note where it tells."""
    if before.target not in (-3, -2) or before.target_minor or after.build.bass is not None:
        return False
    return before.build.fifth == -1 or before.bass == before.target + 5


def is_dominant_of(before: Candidate, after: Candidate, shift: int) -> bool:
    """Whether the goal of an applied augmented sixth is heard as the dominant it is of."""
    assert before.target is not None
    if after.kind == "cadential":
        return True
    if after.kind != "applied" or after.target is None:
        return False
    return same(before.target - 1, after.target + shift)
