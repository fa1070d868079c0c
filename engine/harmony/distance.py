"""Distances of chords and keys in tonal pitch space (Lerdahl 2001, Tonal Pitch Space).

Between chords of a key δ = i + j + k: i fifths between the keys' scales, j
steps on the circle of diatonic fifths between the roots, k pitch classes that
are new in the second chord's basic space.
"""

from __future__ import annotations

from engine.chord import Chord
from engine.key import Key


def chord_distance(one: Chord, first: Key, two: Chord, second: Key) -> int:
    """δ between triads of two keys (within one key give it twice)."""
    fifths = key_distance(first, second)
    space_one, space_two = _basic_space(one, first), _basic_space(two, second)
    new = sum(max(0, level - space_one[pc]) for pc, level in enumerate(space_two))
    return fifths + _root_steps(one, two) + new


def key_distance(one: Key, two: Key) -> int:
    """Steps on the chromatic circle of fifths between the scales, 0 to 6."""
    away = abs(one.signature - two.signature) % 12
    return min(away, 12 - away)


def _root_steps(one: Chord, two: Chord) -> int:
    """Steps on the circle of fifths through the key's seven notes, 0 to 3.

    A root outside the key counts as the degree on its letter.
    """
    letters = "FCGDAEB"
    away = abs(letters.index(one.root.letter) - letters.index(two.root.letter))
    return min(away, 7 - away)


def _basic_space(chord: Chord, key: Key) -> list[int]:
    """For each pitch class how many levels of the basic space hold it, 1 to 5."""
    space = [1] * 12
    for note in key.scale:
        space[note.pc] = 2
    for degree, level in ((3, 3), (5, 4), (1, 5)):
        member = chord.member(degree)
        if member is not None:
            space[member.pc] = level
    return space
