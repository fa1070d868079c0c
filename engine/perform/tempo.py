"""Tempo: the points of a song, its final ritard, and the map from musical time to seconds."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction

from engine.perform.table import Ritard, table
from engine.perform.value import TempoPoint
from engine.song import Bar, Song

_QUARTER = Fraction(1, 4)


def quarters(bar: Bar) -> float:
    """A bar's tempo in quarter notes a minute; `Bar.tempo` counts the meter's own beat."""
    return float(bar.tempo * bar.meter.beat / _QUARTER)


def tempo_points(
    bars: Sequence[Bar], scale: float, ritard: Ritard | None
) -> tuple[TempoPoint, ...]:
    """Where the tempo changes, in song time, for bars that follow each other.

    `scale` multiplies every tempo. With a ritard the last bars slow down beat by
    beat, along v(x) = [1 + (w^q - 1) x]^(1/q) (Friberg & Sundberg 1999).
    """
    points: list[TempoPoint] = []

    def mark(onset: Fraction, speed: float) -> None:
        if not points or abs(points[-1].quarters - speed) > 1e-9:
            points.append(TempoPoint(onset, speed))

    slow = len(bars) - (min(ritard.bars, len(bars)) if ritard else 0)
    for bar in bars[:slow]:
        mark(bar.start, quarters(bar) * scale)
    if ritard and bars:
        start, end = bars[slow].start, bars[-1].end
        for bar in bars[slow:]:
            for beat in range(bar.meter.beats):
                at = bar.start + beat * bar.meter.beat
                middle = float((at + bar.meter.beat / 2 - start) / (end - start))
                # A song's first beat is in tempo, so that even the shortest tells its tempo.
                share = ritard.share(middle) if at > bars[0].start else 1.0
                mark(at, quarters(bar) * scale * share)
    return tuple(points)


def ritard_start(song: Song) -> Fraction | None:
    """Where a song begins to slow down at its end, in whole notes; None without bars."""
    if not song.bars:
        return None
    return song.bars[-min(table().ritard.bars, len(song.bars))].start


class TempoMap:
    """Musical time to seconds and back, for tempo points sorted by onset.

    Before the first point its tempo holds. Seconds count from musical time 0.
    """

    __slots__ = ("_onsets", "_seconds", "_speeds")

    def __init__(self, points: Sequence[TempoPoint]) -> None:
        if not points:
            raise ValueError("a tempo map needs at least one tempo point")
        self._speeds = [point.quarters / 240 for point in points]  # whole notes a second
        self._onsets = [float(point.onset) for point in points]
        self._seconds = [self._onsets[0] / self._speeds[0]]
        for before in range(len(points) - 1):
            span = self._onsets[before + 1] - self._onsets[before]
            self._seconds.append(self._seconds[-1] + span / self._speeds[before])

    def seconds(self, onset: Fraction | float) -> float:
        """When a place in whole notes sounds, in seconds."""
        at = float(onset)
        index = max(0, bisect_right(self._onsets, at) - 1)
        return self._seconds[index] + (at - self._onsets[index]) / self._speeds[index]

    def place(self, seconds: float) -> float:
        """The musical time, in whole notes, that sounds at a number of seconds."""
        index = max(0, bisect_right(self._seconds, seconds) - 1)
        return self._onsets[index] + (seconds - self._seconds[index]) * self._speeds[index]

    def quarters(self, onset: Fraction | float) -> float:
        """The tempo at a place, in quarter notes a minute."""
        return 240 * self._speeds[max(0, bisect_right(self._onsets, float(onset)) - 1)]
