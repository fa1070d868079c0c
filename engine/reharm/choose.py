"""Choosing a few of many chords so that the writer's own is most likely among them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from engine.reharm.families import CLASSES, COUNT, DOMINANT, MAJOR, POWER

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

#: A major triad, a dominant seventh and a fifth on one root are near to each other; a list is
#: the better for different roots. Weights of counting them apart, as two, or as one.
_APART, _TWO, _ONE = 0.15, 0.6, 0.25


def _merged(cls: int, *, dominant: bool) -> int:
    kind = cls % COUNT
    if kind == POWER or (kind == DOMINANT and dominant):
        return cls - kind + MAJOR
    return cls


_AS_TWO = tuple(_merged(cls, dominant=False) for cls in range(CLASSES))
_AS_ONE = tuple(_merged(cls, dominant=True) for cls in range(CLASSES))


def covering(chances: NDArray[np.float64] | Sequence[float]) -> Iterator[tuple[int, float]]:
    """All classes with what each adds to the chance that the right one is in the list so far.

    `chances` is (C,), each class's own. Greedy: the next adds most, so what is added falls.
    """
    import numpy as np

    own = np.asarray(chances, dtype=float)
    as_two, as_one = np.array(_AS_TWO), np.array(_AS_ONE)
    two = np.bincount(as_two, own, CLASSES)[as_two]
    one = np.bincount(as_one, own, CLASSES)[as_one]
    gain = _APART * own + _TWO * two + _ONE * one
    left = np.ones(CLASSES, dtype=bool)
    for _ in range(CLASSES):
        best = int(np.where(left, gain, -1).argmax())
        yield best, float(gain[best])
        left[best] = False
        same = as_two == as_two[best]
        gain = gain - _TWO * two * same
        two = np.where(same, 0, two)
        same = as_one == as_one[best]
        gain = gain - _ONE * one * same
        one = np.where(same, 0, one)
