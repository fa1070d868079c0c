"""A part's times as whole numbers, for speed: one exact grid that holds every one of them."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import lcm

from engine.part import Part
from engine.song import Bar, Song


class Ticks:
    """`onsets` and `ends` of a part's notes in their order, `midis` their pitches.

    A tick is 1/`grid` of a whole note.
    """

    __slots__ = ("_times", "ends", "grid", "midis", "onsets")

    def __init__(self, part: Part, song: Song) -> None:
        denominators = {note.onset.denominator for note in part.notes}
        denominators |= {note.duration.denominator for note in part.notes}
        denominators |= {mark.onset.denominator for mark in part.pedal}
        denominators |= {mark.onset.denominator for mark in part.dynamics}
        denominators |= set(_denominators(song.bars))
        grid = self.grid = lcm(*denominators)
        self._times: dict[int, Fraction] = {}
        self.onsets: list[int] = []
        self.ends: list[int] = []
        self.midis = [note.pitch.midi for note in part.notes]
        for note in part.notes:
            onset, length = note.onset, note.duration
            tick = onset.numerator * (grid // onset.denominator)
            self._times[tick] = onset
            self.onsets.append(tick)
            self.ends.append(tick + length.numerator * (grid // length.denominator))

    def of(self, time: Fraction) -> int:
        """A time of the part in ticks."""
        return time.numerator * (self.grid // time.denominator)

    def time(self, tick: int) -> Fraction:
        """The time of a tick in whole notes."""
        found = self._times.get(tick)
        if found is None:
            found = self._times[tick] = Fraction(tick, self.grid)
        return found


def _denominators(bars: Iterable[Bar]) -> Iterable[int]:
    for bar in bars:
        yield bar.start.denominator
        yield bar.meter.unit
        for slot in bar.slots:
            yield slot.onset.denominator
