"""What the next chord says of a reading: whether it goes where it leans, and what that is worth."""

from __future__ import annotations

from functools import lru_cache

from engine.harmony import words
from engine.harmony.arrival import (
    deceives,
    goes_on,
    is_dominant_of,
    is_second,
    leads_in_minor,
    other_mode,
    resolves,
    same,
    same_target,
    six_four_of,
    stays_within,
)
from engine.harmony.candidate import Candidate
from engine.harmony.ways import Ways
from engine.harmony.weights import weights


@lru_cache(maxsize=16384)
def joins(earlier: Ways, later: Ways, shift: int) -> list[list[float]]:
    """What each reading of a chord costs with each of the next: a list for each later one.

    `shift` is how many fifths the tonic moves between them.
    """
    columns: list[list[float]] = []
    readings = earlier.readings
    for after in later.readings:
        asks = _CHECKS_OF_THE_NEXT.get(after.kind)
        columns.append(
            [_CHECKS[one.kind](one, after, shift) + asks(one, after, shift) for one in readings]
            if asks
            else [_CHECKS[one.kind](one, after, shift) for one in readings]
        )
    return columns


def _left(before: Candidate, after: Candidate, shift: int) -> float:
    """A minor degree that goes to its own dominant, as in a half close on it.

    Not iv, whose dominant is the tonic turned major; v only where a seventh tells its dominant.
    """
    if before.kind != "plain" or after.target in (None, -1) or not after.target_minor:
        return 0.0
    assert after.target is not None
    if before.build.third != -1 or before.build.on_fifth:
        return 0.0
    told = after.target != 1 or after.build.seventh is not None
    return weights().left if told and same(before.acting_root, after.target + shift) else 0.0


def _reached_passing(before: Candidate, after: Candidate, shift: int) -> float:
    return 0.0 if _semitones(before, after, shift) == 11 else weights().leapt_to


def _reached_common(before: Candidate, after: Candidate, shift: int) -> float:
    return 0.0 if _around(before, after, shift) else weights().leapt_to


def _around(before: Candidate, after: Candidate, shift: int) -> bool:
    """Whether a common-tone chord comes from the chord it goes back to, or is named from it."""
    assert after.target is not None
    return same(after.root, after.target) or same(before.root, after.target + shift)


def _semitones(before: Candidate, after: Candidate, shift: int) -> int:
    """From bass to bass, upwards."""
    return (after.bass + shift - before.bass) * 7 % 12


def _applied(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    assert before.target is not None
    root = after.acting_root + shift
    above = (root - before.target) % 12  # fifths from its goal to where it goes
    six_four = after.build.bass == 1 and not shift
    if not above or (six_four and six_four_of(before.target, after)):
        other = not above and not shift and other_mode(before, after) != goes_on(before, after)
        leads = w.leads if leads_in_minor(before, after) else 0.0
        return w.resolved + (w.other_mode if other else 0.0) + leads
    if after.target is not None and same_target(before, after, shift):
        held = before.build.third is None and same(root, before.root)
        return w.suspension_resolved if held else w.continued
    if above in (3, 8) and deceives(before, after, root, above):
        return w.deceptive
    seventh, third = before.build.seventh, before.build.third
    if seventh == -2 and stays_within(before, after, root):
        return w.unresolved + w.stays_within
    cost = w.unresolved
    if seventh is None and third != -1:
        cost += w.unresolved_triad
    if before.target == 1 and is_second(before, after, root, shift):
        cost += w.unresolved_second
    return cost


def _held(before: Candidate, after: Candidate, shift: int) -> float:
    """A suspended dominant over its bass: its own dominant comes, or its goal."""
    w = weights()
    own = same_target(before, after, shift) and same(after.acting_root + shift, before.acting_root)
    seventh = before.build.seventh is not None or before.target == 1
    goal = seventh and after.build.bass is None and resolves(before, after, shift)
    return w.held if own or goal else w.not_held


def _approach(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    if after.kind == "plain":
        return w.unapproached
    if not same_target(before, after, shift):
        return w.unapproached
    if after.kind == "approach":
        return w.continued_approach
    build = before.build
    inverted = before.root != 0 and build.bass is not None and build.seventh is None
    told = inverted and after.build.seventh is not None
    return w.approached + (w.approached_inverted if told else 0.0)


def _sixth(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    resolved = resolves(before, after, shift)
    if before.target != 1:
        resolved = resolved and is_dominant_of(before, after, shift)
    return w.resolved if resolved else w.unresolved_sixth


def _german_in_major(before: Candidate, after: Candidate, shift: int) -> float:
    assert before.target is not None
    to_seventh = same(after.acting_root + shift, before.target) and after.build.seventh == -1
    extra = weights().sixth_to_seventh if to_seventh else 0.0
    return _sixth(before, after, shift) + extra


def _substitute(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    if not resolves(before, after, shift) or after.build.fifth == -1:
        return w.unresolved_substitute
    other = w.other_mode if other_mode(before, after) else 0.0
    if before.target != 0 and after.build.seventh is None:
        return other
    return w.resolved + other


def _common(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    assert before.target is not None
    if same(after.acting_root + shift, before.target) and after.build.third == 0:
        return w.resolved if after.build.bass is None else w.leapt_to
    return w.unresolved_common


def _passing(before: Candidate, after: Candidate, shift: int) -> float:
    return 0.0 if _semitones(before, after, shift) == 11 else weights().not_passing


def _cadential(before: Candidate, after: Candidate, shift: int) -> float:
    w = weights()
    assert before.target is not None
    comes = same(after.acting_root + shift, before.target) and after.build.third != -1
    if before.target == 1:
        return w.cadence if comes and after.function is words.DOMINANT else w.no_cadence
    applied = after.kind == "applied" and after.build.bass is None
    if not (comes and applied and is_dominant_of(before, after, shift)):
        return w.unapproached
    return w.cadence + (w.approached_inverted if after.build.seventh is not None else 0.0)


def _plain(before: Candidate, after: Candidate, shift: int) -> float:
    check = _CHECKS_OF_COLOURS.get(before.category)
    if check:
        return check(before, after, shift)
    if shift or after.root:
        return 0.0
    if before.root == 0 and before.build.third == -1 and after.kind == "applied":
        return weights().turned_major
    cadence = before.function is words.DOMINANT and before.category is words.DIATONIC
    return weights().arrival if cadence and after.kind == "plain" else 0.0


def _backdoor(_: Candidate, after: Candidate, shift: int) -> float:
    root = after.acting_root + shift
    if same(root, 0):
        return weights().resolved
    return weights().unresolved if same(root, -3) else 0.0


def _blues(before: Candidate, after: Candidate, shift: int) -> float:
    away = before.root == -1 and same(after.acting_root + shift, -2) and after.build.third == 0
    return weights().blues_leaves if away else 0.0


def _mediant(before: Candidate, after: Candidate, shift: int) -> float:
    rooted = before.build.bass is None and after.build.bass is None
    home = rooted and after.kind == "plain" and same(after.acting_root + shift, 0)
    return weights().mediant_returns if home else 0.0


# What each kind of reading asks of the next chord.
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
# What a plain reading asks that is no chord of the key's own.
_CHECKS_OF_COLOURS = {
    words.BACKDOOR: _backdoor,
    words.BLUES: _blues,
    words.MEDIANT: _mediant,
}
# What a reading asks of the chord before.
_CHECKS_OF_THE_NEXT = {
    "applied": _left,
    "passing": _reached_passing,
    "common": _reached_common,
}
