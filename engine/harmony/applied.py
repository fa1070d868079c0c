"""Readings of a chord as the dominant of another degree: applied dominants, held or plain."""

from __future__ import annotations

from collections.abc import Iterator

from engine.chord import Chord
from engine.harmony import numeral
from engine.harmony.candidate import (
    MAJOR_SCALE,
    MINOR_SCALE,
    TARGETS,
    Candidate,
    core,
    degrees,
    has_seventh,
    is_symmetrical,
    make,
    rooted,
    target_name,
    targets_at,
    triad,
    turn_diminished,
)
from engine.harmony.weights import weights
from engine.harmony.words import Category, Function


def _is_dominant(chord: Chord) -> bool:
    third, fifth, seventh = triad(chord)
    return (
        third == 0
        and fifth in (0, None, 1, -1)
        and seventh in (None, -1)
        and not (fifth == -1 and seventh is None)
    )


def _applied_cost(chord: Chord, target: int, nearness: str, minor: bool) -> float:
    w = weights()
    cost = w.applied_far if nearness == "far" else w.applied_near
    if nearness == "other":
        told = has_seventh(chord) and target == 1
        cost += w.applied_other + (w.applied_other_seventh if told else 0.0)
    if target == 1:
        cost -= w.applied_to_dominant
    if not has_seventh(chord):
        cost += w.applied_triad
    scale = MINOR_SCALE if minor else MAJOR_SCALE
    if core(chord) <= scale and not (minor and target == -3 and _leads(chord)):
        cost += w.applied_but_diatonic
    return cost


def _leads(chord: Chord) -> bool:
    """Whether a dominant says that it is one by more than its root."""
    inverted = chord.bass is not None and chord.bass == chord.third
    return has_seventh(chord) or inverted or chord.alter(5) == -1


def applied_dominants(chord: Chord, minor: bool) -> Iterator[Candidate]:
    suspended = chord.alter(3) is None and 4 in degrees(chord) and chord.alter(7) in (None, -1)
    if not (_is_dominant(chord) or suspended):
        return
    for target, target_minor, nearness in targets_at(chord.root.fifths - 1, minor):
        applied = rooted(chord, target + 1)
        cost = _applied_cost(applied, target, nearness, minor)
        if suspended:
            cost += weights().applied_suspended
        if target + 1 != chord.root.fifths:
            cost += weights().respelled
        if chord.alter(5) == -1 and chord.bass is not None and chord.bass == chord.fifth:
            cost += weights().turned  # a French sixth
        yield _leaning(applied, "V", (target, target_minor), minor, cost)


def leading_tone_chords(chord: Chord, minor: bool) -> Iterator[Candidate]:
    third, fifth, seventh = triad(chord)
    if (third, fifth) != (-1, -1) or seventh not in (None, -1, -2):
        return
    w = weights()
    full = is_symmetrical(chord)
    place = chord.root.fifths - 5
    for target, target_minor, nearness in TARGETS[minor] if full else targets_at(place, minor):
        off = (target - place) % 12
        if off % 3:
            continue
        applied = rooted(chord, target + 5) if not off else chord
        cost = w.leading_tone
        if off:
            applied = turn_diminished(chord, _nearest(off, target + 5 - chord.root.fifths))
            cost += w.turned
        elif target + 5 != chord.root.fifths:
            cost += w.respelled
        cost += _applied_cost(applied, target, nearness, minor)
        if seventh == -1:
            lower = target_minor or target in (2, 3, 4)
            cost += w.half_diminished + (w.half_diminished_to_minor if lower else 0.0)
        yield _leaning(applied, "vii", (target, target_minor), minor, cost)


def _leaning(
    chord: Chord, degree: str, target: tuple[int, bool], minor: bool, cost: float
) -> Candidate:
    mark = numeral.quality_mark(chord)
    figure = numeral.figures(chord.members, numeral.bass_member(chord))
    roman = f"{degree}{mark}{figure}/{target_name(*target, minor)}"
    return make(chord, roman, Function.DOMINANT, Category.APPLIED, cost, "applied", target)


def held_dominants(chord: Chord, minor: bool) -> Iterator[Candidate]:
    """A suspended dominant of another degree as a chord over its bass: `Am7/D` before D7 or G."""
    if chord.bass is None or chord.alter(5) != 0 or len(chord.members) > 4:
        return
    third, seventh = chord.alter(3), chord.alter(7)
    above = (chord.root.fifths - chord.bass.fifths) % 12
    on_second = above == 1 and third == -1 and seventh == -1
    on_fourth = above == 10 and third == 0 and seventh in (None, 0)
    if not (on_second or on_fourth):
        return
    for target, target_minor, nearness in targets_at(chord.bass.fifths - 1, minor):
        if nearness == "other":
            continue
        based = rooted(chord, target + 1 + (1 if on_second else -2))
        yield make(
            based, numeral.plain_numeral(based, minor), Function.DOMINANT, Category.APPLIED,
            weights().suspended_over_bass, "held", (target, target_minor),
        )  # fmt: skip


def _nearest(off: int, exact: int) -> int:
    return exact if exact % 12 == off else off
