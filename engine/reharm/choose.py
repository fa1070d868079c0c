"""Choosing a few of many chords so that the writer's own is most likely among them."""

from __future__ import annotations

from collections.abc import Sequence
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


def five(chances: NDArray[np.float64] | Sequence[float], count: int = 5) -> list[int]:
    """The `count` classes, best first, that together are likeliest to hold the right one.

    `chances` is (C,), each class's own. Greedy: each next class adds most to what is covered.
    """
    import numpy as np

    own = np.asarray(chances, dtype=float)
    two = np.bincount(_AS_TWO, own, CLASSES)[list(_AS_TWO)]
    one = np.bincount(_AS_ONE, own, CLASSES)[list(_AS_ONE)]
    free_two, free_one = np.ones(CLASSES), np.ones(CLASSES)
    left = np.ones(CLASSES, dtype=bool)
    chosen: list[int] = []
    for _ in range(min(count, CLASSES)):
        gain = _APART * own + _TWO * two * free_two + _ONE * one * free_one
        gain[~left] = -1
        best = int(gain.argmax())
        chosen.append(best)
        left[best] = False
        free_two[[n for n in range(CLASSES) if _AS_TWO[n] == _AS_TWO[best]]] = 0
        free_one[[n for n in range(CLASSES) if _AS_ONE[n] == _AS_ONE[best]]] = 0
    return chosen
