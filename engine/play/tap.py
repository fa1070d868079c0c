"""Tempo by tapping: the beats a minute of the last taps."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median

#: A gap this long, in seconds, begins a new tapping; so many taps are looked back on.
GAP = 2.5
LOOK_BACK = 8


@dataclass(frozen=True, slots=True)
class Taps:
    """The times of the taps so far, in seconds."""

    times: tuple[float, ...] = ()

    @property
    def tempo(self) -> float | None:
        """Beats a minute, or None before the second tap.

        The median of the distances: one tap gone astray changes little.
        """
        if len(self.times) < 2:
            return None
        apart = [b - a for a, b in zip(self.times, self.times[1:], strict=False)]
        return 60 / median(apart)


def tap(taps: Taps, at: float) -> Taps:
    """One more tap at a time in seconds; a second key press within 50 ms counts as one."""
    if not taps.times or at - taps.times[-1] > GAP:
        return Taps((at,))
    if at - taps.times[-1] < 0.05:
        return taps
    return Taps((*taps.times, at)[-LOOK_BACK:])
