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
#: What is left of a class once it is listed: another bass or colour is still something new.
_AGAIN = 0.05


def _merged(cls: int, *, dominant: bool) -> int:
    kind = cls % COUNT
    if kind == POWER or (kind == DOMINANT and dominant):
        return cls - kind + MAJOR
    return cls


_AS_TWO = tuple(_merged(cls, dominant=False) for cls in range(CLASSES))
_AS_ONE = tuple(_merged(cls, dominant=True) for cls in range(CLASSES))


class Cover:
    """What each class adds to the chance that the writer's own is in the list so far.

    `gain` is (C,): it begins above each class's own chance, where others are near to it, and
    never rises as classes are taken.
    """

    def __init__(self, chances: NDArray[np.float64] | Sequence[float]) -> None:
        import numpy as np

        self._own = np.asarray(chances, dtype=float).copy()
        self._as_two, self._as_one = np.array(_AS_TWO), np.array(_AS_ONE)
        self._two = np.bincount(self._as_two, self._own, CLASSES)[self._as_two]
        self._one = np.bincount(self._as_one, self._own, CLASSES)[self._as_one]
        self._taken: set[int] = set()
        self.gain: NDArray[np.float64] = (
            _APART * self._own + _TWO * self._two + _ONE * self._one
        )  # fmt: skip

    def take(self, cls: int) -> None:
        """Note that a class is listed."""
        if cls in self._taken:
            return
        self._taken.add(cls)
        self._two[self._as_two == self._as_two[cls]] = 0
        self._one[self._as_one == self._as_one[cls]] = 0
        self._own[cls] *= _AGAIN
        self.gain = _APART * self._own + _TWO * self._two + _ONE * self._one


def covering(chances: NDArray[np.float64] | Sequence[float]) -> Iterator[int]:
    """All classes, each time the one that adds most to the chance that the right one is listed."""
    import numpy as np

    cover = Cover(chances)
    left = np.ones(CLASSES, dtype=bool)
    for _ in range(CLASSES):
        best = int(np.where(left, cover.gain, -1).argmax())
        yield best
        left[best] = False
        cover.take(best)
