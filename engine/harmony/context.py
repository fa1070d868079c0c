"""The best reading of a progression: a path through the candidates of its chords.

Each chord's candidates cost what they cost alone; each step to the next chord
adds what the next chord says of it (an applied dominant that resolves, a
six-four that cadences). The cheapest path is the reading (Viterbi). A chord
that is struck again is one chord and has one reading.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from operator import add
from typing import NamedTuple

from engine.chord import Chord
from engine.harmony import words
from engine.harmony.candidate import Candidate
from engine.harmony.following import joins
from engine.harmony.ways import Ways, ways_to_read
from engine.harmony.weights import weights
from engine.harmony.words import Category
from engine.key import Key


class Step(NamedTuple):
    """A chord of a progression in its key."""

    chord: Chord
    key: Key


def best_path(steps: Sequence[Step]) -> tuple[list[Candidate], float]:
    """The likeliest candidate for each step, and what the whole path costs."""
    if not steps:
        return [], 0.0
    ways = [ways_to_read(step.chord, step.key) for step in steps]
    struck = [
        n
        for n, (way, step) in enumerate(zip(ways, steps, strict=True))
        if not n or way is not ways[n - 1] or step.key != steps[n - 1].key
    ]
    path, total = _best_path(
        [steps[n] for n in struck], [ways[n] for n in struck], ends=len(steps) > 1
    )
    found: list[Candidate] = []
    for candidate, (n, after) in zip(path, pairwise([*struck, len(steps)]), strict=True):
        found += [candidate] * (after - n)
    return found, total


def _best_path(
    steps: Sequence[Step], ways: Sequence[Ways], ends: bool
) -> tuple[list[Candidate], float]:
    """The path through steps that differ from their neighbours."""
    habits = _habits(steps, ways)
    costs: Sequence[float] = _alone(ways[0], habits)
    reached: list[list[list[float]]] = []  # what each reading costs from each of the chord before
    for n in range(1, len(steps)):
        shift = steps[n].key.tonic.fifths - steps[n - 1].key.tonic.fifths
        columns = joins(ways[n - 1], ways[n], shift)
        totals = [list(map(add, costs, column)) for column in columns]
        costs = list(map(add, map(min, totals), _alone(ways[n], habits)))
        reached.append(totals)
    if ends:
        ending = [_ending(one, steps[0], steps[-1].key) for one in ways[-1].readings]
        costs = list(map(add, costs, ending))
    total = min(costs)
    at = costs.index(total)
    path = [at]
    for totals in reversed(reached):
        at = totals[at].index(min(totals[at]))
        path.append(at)
    path.reverse()
    return [way.readings[at] for way, at in zip(ways, path, strict=True)], total


def _habits(steps: Sequence[Step], ways: Sequence[Ways]) -> dict[Category, float]:
    """What a piece does often is less far-fetched in it: categories and their discount.

    A tonic seventh is at rest in the blues, where IV never comes, and where it is the only tonic
    and the piece begins and ends on it.
    """
    tonics = {"major": 0, "minor": 0}
    sevenths: Counter[tuple[int, bool]] = Counter()
    roots: set[int] = set()
    for step, way in zip(steps, ways, strict=True):
        root, build = _root(step), way.readings[0].build
        roots.add(root)
        third = build.third
        if root == 0 and third is not None and step.key.is_minor:
            tonics["minor" if third == -1 else "major"] += 1
        if root in (0, 11) and third == 0:
            sevenths[root, build.seventh == -1] += 1
    found: dict[Category, float] = {}
    if tonics["major"] > 1 and 2 * tonics["major"] > tonics["minor"] > 0:
        found[words.BORROWED] = weights().modal_tonic
    blue = sevenths[0, True] > sevenths[0, False]
    blue = blue and (not tonics["minor"] or sevenths[0, True] > tonics["minor"])
    around = not sevenths[0, False] and _is_blue(steps[0]) and _is_blue(steps[-1])
    rests = sevenths[0, True] > 1 and (11 not in roots or around)
    if blue and (rests or sevenths[11, True] > sevenths[11, False]):
        found[words.BLUES] = weights().blues_style
    if _is_modal(steps, ways):
        found[words.APPLIED] = weights().modal_mediant
    return found


def _is_modal(steps: Sequence[Step], ways: Sequence[Ways]) -> bool:
    """Whether a minor piece has its VII as a triad, and its leading note nowhere."""
    if not all(step.key.is_minor for step in steps):
        return False
    if not any(_root(step) == 10 and step.chord.bass is None for step in steps):
        return False
    return all(place % 12 != 5 for way in ways for place in way.readings[0].notes)


def _root(step: Step) -> int:
    """Fifths from the tonic up to the root, within an octave."""
    return (step.chord.root.fifths - step.key.tonic.fifths) % 12


def _is_blue(step: Step) -> bool:
    """Whether a chord is the dominant seventh on the tonic."""
    chord = step.chord
    return chord.root.pc == step.key.tonic.pc and (chord.alter(3), chord.alter(7)) == (0, -1)


def _alone(ways: Ways, habits: dict[Category, float]) -> Sequence[float]:
    """What each reading costs in this piece, before its neighbours."""
    if not habits:
        return ways.costs
    return [one.cost + _habit(one, habits) for one in ways.readings]


def _habit(candidate: Candidate, habits: dict[Category, float]) -> float:
    """The discount, which a major tonic in minor has only in root position, a V of III as triad."""
    build = candidate.build
    if candidate.category is words.APPLIED:
        triad = candidate.target == -3 and candidate.root == -2 and build.seventh is None
        return habits.get(words.APPLIED, 0.0) if triad else 0.0
    if candidate.category is words.BORROWED and build.bass is not None:
        return 0.0
    return habits.get(candidate.category, 0.0)


def _ending(candidate: Candidate, first: Step, key: Key) -> float:
    """At the end nothing is prepared; in major a tonic seventh rests: IV would have to follow.

    A piece may turn back to its beginning, and what leads there leads on.
    """
    w = weights()
    if candidate.kind == "approach":
        return w.unapproached
    if candidate.category is words.AUGMENTED_SIXTH:
        return w.unresolved_sixth
    goal, begins = candidate.target, first.chord.root.fifths - key.tonic.fifths
    if goal is None or (goal - begins) % 12 == 0:
        return 0.0
    if candidate.kind == "substitute" and goal != 0:
        return w.unresolved_substitute
    if key.is_minor or candidate.kind != "applied" or goal != -1:
        return 0.0
    build = candidate.build
    rests = build.bass is None and build.stack.at_rest
    return w.unresolved if rests or build.fifth == 1 else 0.0
