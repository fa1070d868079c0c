"""How low an interval may sit before it turns muddy, notes under one pedal counted together."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from functools import lru_cache
from itertools import combinations

import shared


@lru_cache(maxsize=1)
def low_limits() -> tuple[int, ...]:
    """By interval in semitones 0–11: the lowest MIDI number of its lower note (0: no limit).

    Source: shared/tables/low_limits.toml.
    """
    table = tomllib.loads(shared.text("tables", "low_limits.toml"))["limits"]
    return tuple(int(table.get(str(size), 0)) for size in range(12))


def too_low(low: int, high: int) -> bool:
    """Whether two MIDI numbers sounding together are muddy (intervals under an octave only)."""
    size = high - low
    return 0 < size < 12 and low < low_limits()[size]


def muddy(sounding: Iterable[int]) -> tuple[tuple[int, int], ...]:
    """The pairs (low, high) that are too low among notes that ring together."""
    low = sorted({midi for midi in sounding if midi <= 64})
    return tuple((a, b) for a, b in combinations(low, 2) if too_low(a, b))


@lru_cache(maxsize=4096)
def least_bass(offsets: tuple[int, ...]) -> int:
    """The lowest bass on which notes at these semitones above it are clear.

    Offsets may be negative. Returns 0 where nothing limits it.
    """
    least = 0
    for a, b in combinations(sorted(set(offsets)), 2):
        if b - a < 12:
            least = max(least, low_limits()[b - a] - a)
    return least
