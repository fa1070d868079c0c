"""A unit of work, so that limits hold on any machine, busy or slow: time as so many units.

A unit is 10 ms of the machine on which the product's limits were set, with nothing else to do.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from fractions import Fraction

UNIT_MS = 10.0
_ADDITIONS = 7_500


def unit(clock: Callable[[], float] = time.process_time) -> float:
    """Seconds that a unit takes here and now: fractions are added, the best of five."""
    found = []
    for _ in range(5):
        start, total = clock(), Fraction(0)
        for number in range(_ADDITIONS):
            total = Fraction(number % 7, 48) + Fraction(number % 5, 32)
        found.append(clock() - start)
        assert total.denominator in (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 96)
    return min(found)


def scaled_ms(seconds: float, unit_seconds: float) -> float:
    """What a time would be, in ms, on the machine of the limits."""
    return UNIT_MS * seconds / unit_seconds
