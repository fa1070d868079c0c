"""Readings of a chord by its own root: diatonic, borrowed, chromatic, cadential six-four."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from engine.chord import Chord
from engine.harmony import numeral
from engine.harmony.candidate import (
    HARMONIC,
    MAJOR_SCALE,
    MELODIC,
    MINOR_SCALE,
    MIXOLYDIAN,
    PHRYGIAN,
    Candidate,
    at_rest,
    core,
    degrees,
    has_seventh,
    is_symmetrical,
    low_core,
    make,
    minor_seventh,
    rooted,
    triad,
    turn_diminished,
)
from engine.harmony.weights import weights
from engine.harmony.words import Category, Function

_FUNCTION = {
    1: Function.TONIC, 2: Function.PREDOMINANT, 3: Function.TONIC, 4: Function.PREDOMINANT,
    5: Function.DOMINANT, 6: Function.TONIC, 7: Function.DOMINANT,
}  # fmt: skip


def plain(chord: Chord, minor: bool) -> Iterator[Candidate]:
    third = chord.alter(3)
    roots = {chord.root.fifths: 0.0}
    far = _spelling_cost(chord.root.fifths, third == -1)
    for other in (chord.root.fifths - 12, chord.root.fifths + 12):
        if _spelling_cost(other, third == -1) < far:
            roots[other] = weights().respelled
    full = is_symmetrical(chord)
    if full and chord.bass is None and (chord.root.fifths + 3) % 12 == 0:
        falling = rooted(chord, -3)
        yield make(
            falling, numeral.plain_numeral(falling, minor), Function.PASSING,
            Category.PASSING, weights().passing, "passing",
        )  # fmt: skip
    if full:
        for turn in (-9, -3, 3, 9, -6, 6):
            if chord.root.fifths + turn == 5:
                yield plain_one(turn_diminished(chord, turn), minor, weights().turned)
    for root, extra in roots.items():
        yield plain_one(rooted(chord, root), minor, extra + _spelling_cost(root, third == -1))


@lru_cache(maxsize=256)
def _spelling_cost(root: int, lower: bool) -> float:
    low, high = (-5, 8) if lower else (-6, 6)
    return weights().odd_spelling * max(0, low - root, root - high)


def plain_one(chord: Chord, minor: bool, extra: float) -> Candidate:
    root = chord.root.fifths
    degree, alter = numeral.degree_of(root, minor)
    cost, category = _plain_cost(chord, minor)
    function = _FUNCTION[degree] if alter == 0 or (minor and degree in (6, 7)) else _far(root)
    if minor and root == -2:
        function = Function.DOMINANT
    member = numeral.bass_member(chord)
    if member is None and category is Category.DIATONIC and function is not Function.DOMINANT:
        if chord.bass is not None and chord.bass.fifths == 1 and degree in (2, 4):
            function, category = Function.DOMINANT, Category.SUSPENDED
    elif category is Category.DIATONIC and chord.alter(3) is None and 4 in degrees(chord):
        category = Category.SUSPENDED
    roman = numeral.plain_numeral(chord, minor)
    if category is Category.NEAPOLITAN and chord.alter(7) is None:
        figure = numeral.figures(chord.members, member)
        roman = f"N{figure}" if figure.startswith("6") else roman
    return make(chord, roman, function, category, cost + extra, "plain")


def _far(root: int) -> Function:
    """The function of a chromatic root, by the degree it stands for."""
    if root in (-5, -4, 6, -1):
        return Function.PREDOMINANT
    return Function.DOMINANT if root in (-2, 5) else Function.TONIC


def _plain_cost(chord: Chord, minor: bool) -> tuple[float, Category]:
    w = weights()
    places = core(chord)
    root = chord.root.fifths
    if not minor:
        if places <= MAJOR_SCALE:
            return w.diatonic_major.get(_key_of(chord), 0.0), Category.DIATONIC
        return _chromatic_cost(chord, places, minor)
    if places <= MINOR_SCALE:
        return w.diatonic_minor.get(_key_of(chord), 0.0), Category.DIATONIC
    if places <= HARMONIC and (5 in places and root in (1, 5, 0, -3)):
        return w.harmonic, Category.DIATONIC
    if places <= MELODIC and not {-2, 5} <= places and not {-4, 3} <= places:
        return w.melodic, Category.DIATONIC
    return _chromatic_cost(chord, places, minor)


def _key_of(chord: Chord) -> str:
    seventh = "7" if has_seventh(chord) else ""
    return numeral.degree_name(chord.root.fifths, False, numeral.is_lower(chord, False)) + seventh


def _chromatic_cost(chord: Chord, places: frozenset[int], minor: bool) -> tuple[float, Category]:
    w = weights()
    root = chord.root.fifths
    third, fifth, seventh = triad(chord)
    if root == -5 and third == 0 and fifth == 0 and seventh in (None, 0):
        return w.neapolitan, Category.NEAPOLITAN
    if third == 0 and minor_seventh(chord) and root in (0, -1) and at_rest(chord):
        return w.blues + (w.inverted if chord.bass else 0.0), Category.BLUES
    if third == 0 and minor_seventh(chord) and root == -2:
        return w.backdoor, Category.BACKDOOR
    if minor:
        if places <= MAJOR_SCALE:
            if root == 0:
                return w.picardy + (w.inverted if chord.bass else 0.0), Category.BORROWED
            return w.from_major, Category.BORROWED
    elif places <= HARMONIC or places <= MIXOLYDIAN:
        return w.borrowed, Category.BORROWED
    elif places <= PHRYGIAN:
        return w.phrygian, Category.BORROWED
    if (third, fifth, seventh) == (0, 1, None) and root == 0:
        return w.augmented_tonic, Category.CHROMATIC
    scale = MINOR_SCALE if minor else MAJOR_SCALE
    if low_core(chord) <= scale:
        return w.altered_seventh, Category.CHROMATIC
    if third is not None and root in (3, 4, -3, -4) and fifth == 0:
        return w.mediant, Category.MEDIANT
    extra = w.altered if third != -1 else w.diminished if (fifth, seventh) == (-1, None) else 0.0
    return w.chromatic + extra, Category.CHROMATIC


def six_fours(chord: Chord, minor: bool) -> Iterator[Candidate]:
    if chord.bass is None or chord.bass.fifths != chord.root.fifths + 1:
        return
    if chord.root.fifths != 0 or chord.alter(3) is None or chord.alter(7) is not None:
        return
    own = plain_one(chord, minor, 0.0)
    yield replace(
        own, roman="Cad64", function=Function.DOMINANT, category=Category.CADENTIAL,
        kind="cadential", target=1,
    )  # fmt: skip
