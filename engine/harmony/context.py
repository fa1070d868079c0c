"""The best reading of a progression: a path through the candidates of its chords.

Each chord's candidates cost what they cost alone; each step to the next chord
adds what the next chord says of it (an applied dominant that resolves, a
six-four that cadences). The cheapest path is the reading (Viterbi). A chord
that is struck again is one chord and has one reading.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from engine.chord import Chord
from engine.harmony.candidate import Candidate, at_rest
from engine.harmony.ways import candidates
from engine.harmony.weights import weights
from engine.harmony.words import Category, Function
from engine.key import Key
from engine.pitch import Note


@dataclass(frozen=True, slots=True)
class Step:
    """A chord of a progression in its key."""

    chord: Chord
    key: Key


def relative(chord: Chord, tonic: Note) -> Chord:
    """The chord as it would stand with its tonic on C."""
    bass = None if chord.bass is None else Note(chord.bass.fifths - tonic.fifths)
    return Chord(Note(chord.root.fifths - tonic.fifths), chord.members, bass)


def best_path(steps: Sequence[Step]) -> tuple[list[Candidate], float]:
    """The likeliest candidate for each step, and what the whole path costs."""
    found: list[Candidate] = []
    path, total = _best_path([step for step, _ in groupby(steps)])
    for candidate, (_, same) in zip(path, groupby(steps), strict=True):
        found += [candidate for _ in same]
    return found, total


def _best_path(steps: Sequence[Step]) -> tuple[list[Candidate], float]:
    if not steps:
        return [], 0.0
    layers = [candidates(relative(step.chord, step.key.tonic), step.key.is_minor) for step in steps]
    habits = _habits(steps, layers)
    own = [_alone(layer, habits) for layer in layers]
    costs = own[0]
    back: list[list[int]] = []
    for n in range(1, len(steps)):
        shift = steps[n].key.tonic.fifths - steps[n - 1].key.tonic.fifths
        row: list[float] = []
        origin: list[int] = []
        reached = list(zip(costs, layers[n - 1], strict=True))
        for candidate, alone in zip(layers[n], own[n], strict=True):
            totals = [cost + transition(earlier, candidate, shift) for cost, earlier in reached]
            least = min(totals)
            row.append(least + alone)
            origin.append(totals.index(least))
        costs = row
        back.append(origin)
    if len(steps) > 1 and not steps[-1].key.is_minor:
        costs = [cost + _ending(one) for cost, one in zip(costs, layers[-1], strict=True)]
    total = min(costs)
    at = costs.index(total)
    path = [at]
    for origin in reversed(back):
        at = origin[at]
        path.append(at)
    path.reverse()
    return [layer[at] for layer, at in zip(layers, path, strict=True)], total


def _habits(
    steps: Sequence[Step], layers: Sequence[tuple[Candidate, ...]]
) -> dict[Category, float]:
    """What a piece does often is less far-fetched in it: categories and their discount."""
    tonics = {"major": 0, "minor": 0}
    sevenths: Counter[tuple[int, bool]] = Counter()
    for step, layer in zip(steps, layers, strict=True):
        chord = layer[0].chord
        root = (step.chord.root.fifths - step.key.tonic.fifths) % 12
        third = step.chord.alter(3)
        if step.key.is_minor and root == 0 and third is not None:
            tonics["minor" if third == -1 else "major"] += 1
        if root in (0, 11) and third == 0:
            sevenths[root, chord.alter(7) == -1] += 1
    found: dict[Category, float] = {}
    if tonics["major"] > 1 and 2 * tonics["major"] > tonics["minor"] > 0:
        found[Category.BORROWED] = weights().modal_tonic
    if all(sevenths[root, True] > sevenths[root, False] for root in (0, 11)):
        found[Category.BLUES] = weights().blues_style
    return found


def _alone(layer: Sequence[Candidate], habits: dict[Category, float]) -> list[float]:
    """What each candidate costs in this piece, before its neighbours."""
    if not habits:
        return [candidate.cost for candidate in layer]
    return [candidate.cost + _habit(candidate, habits) for candidate in layer]


def _habit(candidate: Candidate, habits: dict[Category, float]) -> float:
    """The discount, which a major tonic in minor has only in root position."""
    if candidate.category is Category.BORROWED and candidate.chord.bass is not None:
        return 0.0
    return habits.get(candidate.category, 0.0)


def _ending(candidate: Candidate) -> float:
    """In major a tonic with a minor seventh rests at the end: IV would have to follow."""
    leans = candidate.kind == "applied" and candidate.target == -1
    rests = candidate.chord.bass is None and at_rest(candidate.chord)
    return weights().unresolved if leans and rests else 0.0


@lru_cache(maxsize=65536)
def transition(before: Candidate, after: Candidate, shift: int) -> float:
    """What the next chord adds to the cost of a reading; `shift` fifths from key to key."""
    check = _CHECKS.get(before.kind)
    cost = check(before, after, shift) if check else 0.0
    if after.kind == "passing" and _semitones(before, after, shift) != 11:
        cost += weights().leapt_to
    if after.kind == "common" and not _around(before, after, shift):
        cost += weights().leapt_to
    return cost


def _around(before: Candidate, after: Candidate, shift: int) -> bool:
    """Whether a common-tone chord comes from the chord it goes back to, or is named from it."""
    assert after.target is not None
    return _same(after.chord.root.fifths, after.target) or _same(
        before.chord.root.fifths, after.target + shift
    )


def _semitones(before: Candidate, after: Candidate, shift: int) -> int:
    """From bass to bass, upwards."""
    return (after.chord.bass_note.fifths + shift - before.chord.bass_note.fifths) * 7 % 12


def resolves(before: Candidate, after: Candidate, shift: int) -> bool:
    """Whether a chord that leans goes where it leans."""
    if before.target is None:
        return False
    if before.kind == "approach":
        return _same_target(before, after, shift)
    return _same(_root(after, shift), before.target) or (
        _same(before.target, 1) and shift == 0 and _six_four_of_tonic(after)
    )


def _root(candidate: Candidate, shift: int) -> int:
    return candidate.acting_root + shift


def _same(one: int, other: int) -> bool:
    return (one - other) % 12 == 0


def _six_four_of_tonic(candidate: Candidate) -> bool:
    if candidate.kind == "cadential":
        return True
    chord = candidate.chord
    return chord.root.fifths == 0 and chord.bass is not None and chord.bass.fifths == 1


def _other_mode(before: Candidate, after: Candidate) -> bool:
    """Whether a goal is minor where major was named, or the other way about."""
    third = after.chord.alter(3)
    return third is not None and (third == -1) != before.target_minor


def _same_target(before: Candidate, after: Candidate, shift: int) -> bool:
    return (
        before.target is not None
        and after.target is not None
        and after.kind in ("applied", "approach", "substitute")
        and _same(before.target, after.target + shift)
    )


def _applied(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    assert before.target is not None
    if resolves(before, after, shift):
        other = shift == 0 and _same(_root(after, shift), before.target)
        other = other and _other_mode(before, after)
        leads = w.leads if _leads_in_minor(before, after) else 0.0
        return w.resolved + (w.other_mode if other else 0.0) + leads
    if _same_target(before, after, shift):
        held = before.chord.alter(3) is None and _same(
            _root(after, shift), before.chord.root.fifths
        )
        return w.suspension_resolved if held else w.continued
    root = _root(after, shift)
    minor_third = after.chord.alter(3) == -1 and after.chord.alter(5) != -1
    if _same(root, before.target - 4) and not minor_third:
        return w.deceptive
    submediant = _same(root, before.target + 3) and minor_third and not before.target_minor
    if submediant and not (
        before.target == -3 and root == 0
    ):  # there it is the tonic of a minor key
        return w.deceptive
    seventh = before.chord.alter(7) is not None or before.chord.alter(3) == -1
    if seventh:
        half_diminished = before.chord.alter(3) == before.chord.alter(7) == -1
        falls = half_diminished and before.target == 1 and _same(root, -1)
        return w.unresolved + (w.unresolved_second if falls else 0.0)
    home = _same(root, 0) and after.chord.bass is None
    over_tonic = before.chord.bass is not None and before.chord.bass.fifths == 0
    placed = before.chord.bass is None or (over_tonic and home)
    pop = before.target == 1 and (_same(root, -1) or home) and placed
    return w.unresolved + w.unresolved_triad + (w.unresolved_second if pop else 0.0)


def _leads_in_minor(before: Candidate, after: Candidate) -> bool:
    """Whether a chord to III or VII of a minor key has their leading note where it tells."""
    if before.target not in (-3, -2) or before.target_minor or after.chord.bass is not None:
        return False
    return before.chord.alter(5) == -1 or before.chord.bass_note.fifths == before.target + 5


def _held(before: Candidate, after: Candidate, shift: int) -> float:
    """A suspended dominant over its bass: its own dominant comes, or its goal."""
    w = weights()
    own = _same_target(before, after, shift) and _same(_root(after, shift), before.acting_root)
    seventh = before.chord.alter(7) is not None or before.target == 1
    goal = seventh and after.chord.bass is None and resolves(before, after, shift)
    return w.held if own or goal else w.not_held


def _approach(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    if after.kind == "plain":
        return w.unapproached
    return w.approached if _same_target(before, after, shift) else w.unapproached


def _sixth(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    minor_goal = before.target == 2 and after.chord.alter(3) == -1
    if minor_goal or not resolves(before, after, shift):
        return w.unresolved_sixth
    return w.resolved


def _german_in_major(before: Candidate, after: Candidate, shift: int) -> float:
    assert before.target is not None
    to_seventh = _same(_root(after, shift), before.target) and after.chord.alter(7) == -1
    extra = weights().sixth_to_seventh if to_seventh else 0.0
    return _sixth(before, after, shift) + extra


def _substitute(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    if not resolves(before, after, shift):
        return w.unresolved_substitute
    if before.target != 0 and after.chord.alter(7) is None:
        return 0.0
    return w.resolved


def _common(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    assert before.target is not None
    if _same(_root(after, shift), before.target) and after.chord.alter(3) == 0:
        return w.resolved if after.chord.bass is None else w.leapt_to
    return w.unresolved_common


def _passing(before: Candidate, after: Candidate, shift: int) -> float:
    return 0.0 if _semitones(before, after, shift) == 11 else weights().not_passing


def _cadential(_: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    root = _root(after, shift)
    if _same(root, 1) and after.function is Function.DOMINANT and after.chord.alter(3) != -1:
        return w.cadence
    return w.no_cadence


def _plain(before: Candidate, after: Candidate, shift: int) -> float:
    if before.category is Category.BACKDOOR:
        root = _root(after, shift)
        if _same(root, 0):
            return weights().resolved
        return weights().unresolved if _same(root, -3) else 0.0
    if before.category is Category.BLUES and before.chord.root.fifths == -1:
        away = _same(_root(after, shift), -2) and after.chord.alter(3) == 0
        return weights().blues_leaves if away else 0.0
    if before.category is Category.MEDIANT:
        rooted = before.chord.bass is None and after.chord.bass is None
        home = rooted and after.kind == "plain" and _same(_root(after, shift), 0)
        return weights().mediant_returns if home else 0.0
    if shift or after.chord.root.fifths:
        return 0.0
    if before.chord.root.fifths == 0 and before.chord.alter(3) == -1 and after.kind == "applied":
        return weights().turned_major
    cadence = before.function is Function.DOMINANT and before.category is Category.DIATONIC
    return weights().arrival if cadence and after.kind == "plain" else 0.0


_CHECKS = {
    "held": _held,
    "applied": _applied,
    "approach": _approach,
    "sixth": _sixth,
    "german": _german_in_major,
    "substitute": _substitute,
    "common": _common,
    "cadential": _cadential,
    "plain": _plain,
    "passing": _passing,
}
