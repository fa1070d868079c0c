"""Readings of a chord as a chromatic dominant or link: sixths, substitutes, common tones."""

from __future__ import annotations

from collections.abc import Iterator

from engine.harmony import numeral, words
from engine.harmony.build import Build, Stack, bass_spelled, turned
from engine.harmony.candidate import Candidate, targets_at
from engine.harmony.weights import weights

_BY_FIFTH = {None: "It", 0: "Ger", -1: "Fr"}


def is_sixth(stack: Stack) -> bool:
    """Whether it can be an augmented sixth: as written, a dominant seventh."""
    dominant = stack.third == 0 and stack.seventh == -1 and stack.fifth in _BY_FIFTH
    return dominant and len(stack.members) <= 4


def augmented_sixths(root: int, build: Build, minor: bool) -> Iterator[Candidate]:
    kind = _BY_FIFTH[build.fifth]
    w = weights()
    turns = ((0, 0.0), (6, 0.0 if build.on_fifth else w.turned)) if kind == "Fr" else ((0, 0.0),)
    for turn, extra in turns:
        # A flat above its goal: rooted four fifths below the tonic of that dominant.
        above = root + turn + 4
        cost = w.augmented_sixth + extra
        if above % 12 == 0:
            yield from _sixth(root, build, kind, (0, minor), "", cost)
        for goal, lower, nearness, name in targets_at(above, minor):
            if nearness != "other":
                far = w.applied_far if nearness == "far" else 0.0
                yield from _sixth(
                    root, build, kind, (goal, lower or minor), f"/{name}",
                    cost + w.applied_sixth + far,
                )  # fmt: skip


def _sixth(
    root: int, build: Build, kind: str, target: tuple[int, bool], name: str, cost: float
) -> Iterator[Candidate]:
    """The augmented sixth before the dominant of a degree, spelled from its lower note."""
    place = target[0] - 4
    based = turned(build, place - root)
    if based.bass_member is None:
        return
    raised = {place - 2, place - 6} if kind == "Fr" else {place - 2}
    notes = tuple([at + 12 if at in raised else at for at in (place + n for n in based.notes)])
    yield Candidate(
        place, based, numeral.sixth_numeral(kind, based.bass_member) + name,
        words.PREDOMINANT, words.AUGMENTED_SIXTH, cost + _respelled(place, root),
        "german" if kind == "Ger" and not target[1] else "sixth", target[0] + 1, False, notes,
    )  # fmt: skip


def _respelled(place: int, root: int) -> float:
    """What it costs that a root is another than the one written, though it sounds the same."""
    return weights().respelled if abs(place - root) == 12 else 0.0


def is_substitute(stack: Stack) -> bool:
    """Whether it can stand for the dominant a tritone away."""
    return stack.third == 0 and stack.seventh == -1 and stack.fifth in (0, None, -1)


def substitutes(root: int, build: Build, minor: bool) -> Iterator[Candidate]:
    w, spelled = weights(), bass_spelled(build)
    if (root + 5) % 12 == 0:
        yield _substitute(spelled, 0, minor, "", w.substitute + _respelled(-5, root))
        return
    for goal, lower, nearness, name in targets_at(root + 5, minor):
        if nearness != "other":
            far = w.applied_far if nearness == "far" else 0.0
            cost = w.substitute_applied + far + _respelled(goal - 5, root)
            yield _substitute(spelled, goal, lower, f"/{name}", cost)


def _substitute(build: Build, goal: int, lower: bool, name: str, cost: float) -> Candidate:
    return Candidate(
        goal - 5, build, f"subV{build.figures}{name}", words.DOMINANT, words.SUBSTITUTE,
        cost, "substitute", goal, lower,
    )  # fmt: skip


def is_common_tone(stack: Stack) -> bool:
    """Whether it can keep a note of the chord it goes to: a diminished seventh."""
    return stack.symmetrical


def common_tones(root: int, build: Build, _minor: bool) -> Iterator[Candidate]:
    for goal, roman in ((0, "CT°7"), (1, "CT°7/V")):
        # Spelled 1 #2 #4 6 of the chord it returns to.
        if (goal - root) % 3:
            continue
        spelled = {(goal + off) % 12: goal + off for off in (0, 9, 6, 3)}
        notes = tuple([spelled.get((root + at) % 12, root + at) for at in build.notes])
        cost = weights().common_tone
        if (goal - root) % 12 not in (0, 3):  # named from the tone or spelled #2
            cost += weights().turned
        yield Candidate(
            root, build, roman, words.LINKING, words.COMMON_TONE, cost, "common", goal,
            False, notes,
        )  # fmt: skip
