"""Ticks to written time: for every beat the division that its attacks lie nearest to, tuplets too.

A plain division costs less than a fine or an odd one, so that a performance
falls on the simplest grid that explains it; a file that lies on a grid already
keeps it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

#: Divisions of a beat (of a quarter, or of a dotted quarter) and what each costs.
_BEAT = {1: 0.0, 2: 0.5, 3: 1.5, 4: 1.2, 5: 4.5, 6: 2.6, 7: 5.5, 8: 2.8, 9: 6.0, 12: 4.5, 16: 5.0}
_DOTTED = {1: 0.0, 3: 0.5, 2: 2.0, 6: 1.2, 4: 3.0, 5: 5.0, 7: 5.5, 9: 4.0, 12: 2.8, 24: 5.5}
#: Divisions of a whole bar that no division of its beats gives, and what they cost.
_ODD_BAR = {5: 4.0, 7: 4.0, 9: 4.5, 10: 5.0, 11: 6.0, 13: 7.0, 14: 6.0, 15: 6.5}
#: How far a player strays, in quarters (about 30 ms at 72 quarters a minute), and a file.
_LOOSE, _EXACT = 0.04, 0.008
_CAP = 9.0


@dataclass(frozen=True, slots=True)
class GridBar:
    """A bar in ticks and in whole notes, and its beat in whole notes."""

    tick: float
    ticks: float
    start: Fraction
    length: Fraction
    beat: Fraction


class Quantiser:
    """Maps ticks to whole notes, from the attacks of a file and its bars."""

    def __init__(self, onsets: Sequence[int], bars: Sequence[GridBar], division: int) -> None:
        self.bars = bars
        self.division = division
        self.starts = [bar.tick for bar in bars]
        self.attacks = sorted(set(onsets))
        self.spread = _EXACT if self._lies_on_a_grid() else _LOOSE
        self.grids = [self._grid(bar) for bar in bars]
        self.tuplets = sum(
            any(_odd(place * bar.length) for place in grid)
            for bar, grid in zip(bars, self.grids, strict=True)
        )

    def _lies_on_a_grid(self) -> bool:
        if not self.attacks:
            return True
        step = self.division / 48
        near = sum(1 for tick in self.attacks if abs(tick / step - round(tick / step)) * step <= 1)
        return near >= 0.97 * len(self.attacks)

    def onset(self, tick: float) -> Fraction:
        """The written place of an attack."""
        bar, grid = self._around(tick)
        return _nearest(grid, bar, tick)

    def end(self, tick: float, onset: Fraction, following: Fraction | None) -> Fraction:
        """Where a note ends that begins at `onset`; `following` is the hand's next attack.

        A note let go a little before the next attack lasts up to it.
        """
        bar, grid = self._around(tick)
        found = _nearest(grid, bar, tick)
        if following is not None and self.spread == _LOOSE and following > onset:
            gap = float(following - found)
            if abs(gap) <= 0.35 * float(following - onset) or 0 <= gap <= 1 / 16:
                found = following
        finer = _nearest(_places(bar.length, bar.beat, 4), bar, tick)
        if self.spread == _EXACT and self._off(bar, finer, tick) < self._off(bar, found, tick):
            found = finer
        if found <= onset:
            found = onset + self._step(onset)
        return found

    def _off(self, bar: GridBar, place: Fraction, tick: float) -> float:
        return abs(float((place - bar.start) / bar.length) * bar.ticks + bar.tick - tick)

    def _step(self, onset: Fraction) -> Fraction:
        """The grid's step at a place, at most a sixteenth."""
        index = max(0, bisect_right([bar.start for bar in self.bars], onset) - 1)
        bar, grid = self.bars[index], self.grids[index]
        at = bisect_right(grid, (onset - bar.start) / bar.length)
        step = (grid[at] * bar.length + bar.start - onset) if at < len(grid) else Fraction(1, 16)
        return min(step, Fraction(1, 16)) if step > 0 else Fraction(1, 16)

    def _around(self, tick: float) -> tuple[GridBar, Sequence[Fraction]]:
        index = max(0, bisect_right(self.starts, tick) - 1)
        return self.bars[index], self.grids[index]

    def _grid(self, bar: GridBar) -> tuple[Fraction, ...]:
        """The places of the bar, as shares of it, that its attacks lie nearest to."""
        low = bisect_left(self.attacks, bar.tick - 0.1 * self.division)
        high = bisect_left(self.attacks, bar.tick + bar.ticks)
        shares = [(tick - bar.tick) / bar.ticks for tick in self.attacks[low:high]]
        quarters = float(bar.length) * 4
        cost, places = self._by_beats(bar, shares, quarters)
        for division, price in _ODD_BAR.items():
            total = price + self._stray(shares, 0.0, 1.0, division, quarters)
            if total < cost:
                cost, places = total, _even(division)
        return places

    def _by_beats(
        self, bar: GridBar, shares: Sequence[float], quarters: float
    ) -> tuple[float, tuple[Fraction, ...]]:
        beats = max(1, round(bar.length / bar.beat))
        prices = _DOTTED if bar.beat.numerator == 3 else _BEAT
        width = Fraction(1, beats)
        cost = 0.0
        places: set[Fraction] = {Fraction(1)}
        for beat in range(beats):
            begin = beat * width
            inside = [
                share for share in shares
                if float(begin) - 0.05 / beats <= share < float(begin + width) - 0.05 / beats
            ]  # fmt: skip
            best: tuple[float, int] = (float("inf"), 1)
            for division, price in prices.items():
                stray = self._stray(inside, float(begin), 1 / beats, division, quarters)
                best = min(best, (price + stray, division))
                if not inside:
                    break
            cost += best[0]
            places |= {begin + width * n / best[1] for n in range(best[1])}
        return cost, tuple(sorted(places))

    def _stray(
        self, shares: Sequence[float], begin: float, width: float, division: int, quarters: float
    ) -> float:
        """How far attacks lie from the places that divide a stretch of the bar evenly."""
        total = 0.0
        for share in shares:
            place = (share - begin) / width * division
            near = abs(place - min(division, max(0, round(place)))) * width / division
            total += min(_CAP, (near * quarters / self.spread) ** 2)
        return total


@lru_cache(maxsize=64)
def _even(division: int) -> tuple[Fraction, ...]:
    return tuple(Fraction(n, division) for n in range(division + 1))


@lru_cache(maxsize=64)
def _places(length: Fraction, beat: Fraction, division: int) -> tuple[Fraction, ...]:
    count = max(1, round(length / beat)) * division * (3 if beat.numerator == 3 else 2)
    return _even(count)


def _nearest(grid: Sequence[Fraction], bar: GridBar, tick: float) -> Fraction:
    share = (tick - bar.tick) / bar.ticks
    at = bisect_left(grid, share)
    candidates = [grid[n] for n in (at - 1, at) if 0 <= n < len(grid)]
    best = min(candidates, key=lambda place: abs(float(place) - share))
    return bar.start + best * bar.length


def _odd(place: Fraction) -> bool:
    """Whether a place in whole notes is no half, quarter, eighth and so on."""
    return place.denominator & (place.denominator - 1) != 0
