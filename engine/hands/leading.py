"""The size of a voice leading: how far the voices move from one chord to the next."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache


@lru_cache(maxsize=8192)
def movement(a: tuple[int, ...], b: tuple[int, ...]) -> int:
    """Taxicab size in semitones of the least voice leading between two shapes, low to high.

    Voices may double: D[i,j] = |a_i − b_j| + min of the three neighbours
    (Tymoczko 2006, Science 313:72, supporting material).
    """
    if len(a) == len(b):
        straight = sum(abs(x - y) for x, y in zip(a, b, strict=True))
        if len(a) <= 1 or straight <= 1:
            return straight
    row = [abs(a[0] - b[0])]
    for y in b[1:]:
        row.append(row[-1] + abs(a[0] - y))
    for x in a[1:]:
        last, row[0] = row[0], row[0] + abs(x - b[0])
        for j in range(1, len(b)):
            last, row[j] = row[j], abs(x - b[j]) + min(last, row[j], row[j - 1])
    return row[-1]


def leading_size(a: Iterable[int], b: Iterable[int]) -> int:
    """The least movement in semitones between two chords given as pitch classes.

    Each voice goes the shorter way round the octave and voices may double:
    C→F is 3, Cmaj7→Emaj7 is 3 (Tymoczko 2006, Science 313:72).
    """
    first = tuple(sorted({pc % 12 for pc in a}))
    second = tuple(sorted({pc % 12 for pc in b}))
    # Some voice joins the lowest note of the first to a note of the second. Starting there
    # and going once round, that voice is met again an octave up: it counts once.
    return min(
        movement((*first, first[0] + 12), (*turned, turned[0] + 12)) - abs(first[0] - turned[0])
        for turn in range(len(second))
        for shift in (-12, 0)
        for turned in [
            tuple(
                pc + shift + (12 if at < turn else 0)
                for at, pc in sorted(enumerate(second), key=lambda item: item[0] < turn)
            )
        ]
    )
