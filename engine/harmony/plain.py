"""Readings of a chord by its own root: diatonic, borrowed, chromatic, cadential six-four."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from engine.harmony import numeral, words
from engine.harmony.build import Build, Stack, bass_spelled, plain_numeral, turned
from engine.harmony.candidate import (
    FORMS_OF_MINOR,
    HARMONIC,
    MAJOR_SCALE,
    MINOR_SCALE,
    MIXOLYDIAN,
    PHRYGIAN,
    Candidate,
)
from engine.harmony.weights import weights
from engine.harmony.words import Category, Function

_FUNCTION = {
    1: words.TONIC, 2: words.PREDOMINANT, 3: words.TONIC, 4: words.PREDOMINANT,
    5: words.DOMINANT, 6: words.TONIC, 7: words.DOMINANT,
}  # fmt: skip


def plain(root: int, build: Build, minor: bool) -> Iterator[Candidate]:
    w, lower = weights(), build.third == -1
    if build.stack.symmetrical:
        if build.bass is None and (root + 3) % 12 == 0:
            yield Candidate(
                -3, build, plain_numeral(-3, build, minor), words.LINKING,
                words.PASSING, w.passing, "passing",
            )  # fmt: skip
        if (5 - root) in (-9, -3, 3, 9, -6, 6):
            yield plain_one(5, turned(build, 5 - root), minor, w.turned)
    spelled = bass_spelled(build)
    far = _odd_fifths(root, lower)
    yield plain_one(root, spelled, minor, w.odd_spelling * far)
    if far:
        for other in (root - 12, root + 12):
            odd = _odd_fifths(other, lower)
            if odd < far:
                yield plain_one(other, spelled, minor, w.respelled + w.odd_spelling * odd)


@lru_cache(maxsize=256)
def _odd_fifths(root: int, lower: bool) -> int:
    """How far a root lies outside the usual side of the key."""
    low, high = (-5, 8) if lower else (-6, 6)
    return max(0, low - root, root - high)


def plain_one(root: int, build: Build, minor: bool, extra: float) -> Candidate:
    function = _function(root, minor)
    roman = plain_numeral(root, build, minor)
    cost = _own_cost(root, build, minor)
    if cost is None:
        cost, category = _chromatic_cost(root, build, minor)
        neapolitan = category is words.NEAPOLITAN and build.seventh is None
        if neapolitan and build.figures.startswith("6"):
            roman = f"N{build.figures}"
    else:
        category = words.DIATONIC
        if build.bass_member is None and function is not words.DOMINANT:
            over_fifth = root + (build.bass or 0) == 1
            if over_fifth and numeral.degree_of(root, minor).number in (2, 4):
                function, category = words.DOMINANT, words.SUSPENDED
        elif build.stack.suspended:
            category = words.SUSPENDED
    return Candidate(root, build, roman, function, category, cost + extra, "plain")


@lru_cache(maxsize=256)
def _function(root: int, minor: bool) -> Function:
    degree, alter, *_ = numeral.degree_of(root, minor)
    if minor and root == -2:
        return words.DOMINANT
    return _FUNCTION[degree] if alter == 0 or (minor and degree in (6, 7)) else _far(root)


def _far(root: int) -> Function:
    """The function of a chromatic root, by the degree it stands for."""
    if root in (-5, -4, 6, -1):
        return words.PREDOMINANT
    return words.DOMINANT if root in (-2, 5) else words.TONIC


def _own_cost(root: int, build: Build, minor: bool) -> float | None:
    """What a chord of the key's own notes costs; None where it has others."""
    w = weights()
    if not minor:
        own = build.within(root, MAJOR_SCALE)
        return w.diatonic_major.get(_name(root, build), 0.0) if own else None
    if build.within(root, MINOR_SCALE):
        return w.diatonic_minor.get(_name(root, build), 0.0)
    if root in (1, 5, 0, -3) and build.within(root, HARMONIC):
        return w.harmonic
    return w.melodic if any(build.within(root, form) for form in FORMS_OF_MINOR) else None


def _name(root: int, build: Build) -> str:
    """The chord's name in the table of weights."""
    degree = numeral.degree_of(root, False)
    name = degree.lower if build.third == -1 else degree.upper
    return f"{name}7" if build.has_seventh else name


def _chromatic_cost(root: int, build: Build, minor: bool) -> tuple[float, Category]:
    w = weights()
    third, fifth, seventh = build.third, build.fifth, build.seventh
    if root == -5 and third == 0 and fifth == 0 and seventh in (None, 0):
        return w.neapolitan, words.NEAPOLITAN
    if third == 0 and build.minor_seventh and root in (0, -1) and build.stack.at_rest:
        return w.blues + (0.0 if build.bass is None else w.inverted), words.BLUES
    if third == 0 and build.minor_seventh and root == -2:
        return w.backdoor, words.BACKDOOR
    if minor:
        if build.within(root, MAJOR_SCALE):
            if root == 0:
                return w.picardy + (0.0 if build.bass is None else w.inverted), words.BORROWED
            return w.from_major, words.BORROWED
    elif build.within(root, HARMONIC) or build.within(root, MIXOLYDIAN):
        return w.borrowed, words.BORROWED
    elif build.within(root, PHRYGIAN):
        return w.phrygian, words.BORROWED
    if (third, fifth, seventh) == (0, 1, None) and root == 0:
        return w.augmented_tonic, words.CHROMATIC
    if build.low_within(root, MINOR_SCALE if minor else MAJOR_SCALE):
        return w.altered_seventh, words.CHROMATIC
    if third is not None and root in (3, 4, -3, -4) and fifth == 0:
        return w.mediant, words.MEDIANT
    extra = w.altered if third != -1 else w.diminished if (fifth, seventh) == (-1, None) else 0.0
    return w.chromatic + extra, words.CHROMATIC


def is_tonic_triad(stack: Stack) -> bool:
    """Whether over its fifth it can be the cadential six-four, if the tonic is its root."""
    return stack.third is not None and stack.seventh is None


def six_fours(root: int, build: Build, minor: bool) -> Iterator[Candidate]:
    if root % 12 == 0:  # G♯ over D♯ in A♭ too
        yield replace(
            plain_one(0, build, minor, 0.0),
            roman="Cad64", function=words.DOMINANT, category=words.CADENTIAL,
            kind="cadential", target=1,
        )  # fmt: skip
