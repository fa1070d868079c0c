"""What the transport plays from: a performance with its beats, laid out in seconds."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from engine.perform import PedalMove, Performance, Played, TempoMap, TempoPoint
from engine.perform.tempo import tempo_points
from engine.song import Song


@dataclass(frozen=True, slots=True)
class Beat:
    """A place where the metronome clicks: `weight` 2 downbeat, 1 start of a group, 0 other."""

    onset: Fraction
    weight: int


@dataclass(frozen=True, slots=True)
class Timed:
    """Something that sounds, `at` seconds from the start in the song's own tempo.

    `late` seconds are added whatever the tempo; `until` is where a note ends.
    """

    at: float
    what: Played | PedalMove | Beat
    late: float = 0.0
    until: float = 0.0


class Line:
    """All that sounds, sorted by time, in one tempo map."""

    def __init__(self, performance: Performance, beats: tuple[Beat, ...], tempo: TempoMap) -> None:
        self.tempo = tempo
        seconds = tempo.seconds
        found = [
            Timed(seconds(note.onset), note, max(0.0, note.late_ms / 1000), seconds(note.end))
            for note in performance.notes
        ]
        found += [
            Timed(seconds(move.onset), move, max(0.0, move.late_ms / 1000))
            for move in performance.pedal
        ]
        found += [Timed(seconds(beat.onset), beat) for beat in beats]
        found.sort(key=lambda timed: (timed.at, isinstance(timed.what, Played)))
        self.timed = tuple(found)
        self.starts = [timed.at for timed in found]
        self.notes = {
            (timed.what.hand.value, timed.what.midi, timed.what.onset): timed
            for timed in found
            if isinstance(timed.what, Played)
        }

    def first_at(self, seconds: float) -> int:
        """The index of the first that sounds at a time or later."""
        return bisect_left(self.starts, seconds)


@dataclass(frozen=True)
class Score:
    """A performance with its bars and beats. Times are in whole notes from the performance's start.

    `steady` is the tempo without the final ritard, for loops; `bars` are
    (start, length, beat) of each bar.
    """

    performance: Performance
    beats: tuple[Beat, ...]
    bars: tuple[tuple[Fraction, Fraction, Fraction], ...]
    steady: TempoMap

    @cached_property
    def flowing_line(self) -> Line:
        """The line as performed, with the ritard where it has one."""
        return Line(self.performance, self.beats, TempoMap(self.performance.tempo))

    @cached_property
    def looped_line(self) -> Line:
        """The line for loops, without the ritard."""
        return Line(self.performance, self.beats, self.steady)

    def lay_out(self, *, looped: bool) -> Line:
        """The line to play; laid out at first use."""
        return self.looped_line if looped else self.flowing_line

    @property
    def end(self) -> Fraction:
        return self.performance.end

    def bar_at(self, onset: Fraction | float) -> tuple[Fraction, Fraction, Fraction]:
        """(start, length, beat) of the bar that holds a place."""
        found = self.bars[0]
        for bar in self.bars:
            if bar[0] > onset:
                break
            found = bar
        return found


def score_of(performance: Performance, song: Song, *, tempo_scale: float = 1.0) -> Score:
    """The score of a performance of that song; `tempo_scale` as given to `perform`."""
    shift = performance.start
    end = shift + performance.end
    bars = [bar for bar in song.bars if shift <= bar.start < end]
    beats: list[Beat] = []
    for bar in bars:
        groups = set(bar.meter.group_starts)
        inside = max(bar.meter.group_lengths) > bar.meter.beat
        places = {bar.meter.beat * number for number in range(bar.meter.beats)} | groups
        for place in sorted(places):
            weight = 2 if place == 0 else int(inside and place in groups)
            beats.append(Beat(bar.start - shift + place, weight))
    points = tempo_points(bars, tempo_scale, None)
    steady = tuple(TempoPoint(point.onset - shift, point.quarters) for point in points)
    return Score(
        performance,
        tuple(beats),
        tuple((bar.start - shift, bar.meter.bar, bar.meter.beat) for bar in bars),
        TempoMap(steady or performance.tempo),
    )


EMPTY = Score(
    performance=Performance((), (), (TempoPoint(Fraction(0), 60.0),), Fraction(0)),
    beats=(),
    bars=((Fraction(0), Fraction(1), Fraction(1, 4)),),
    steady=TempoMap((TempoPoint(Fraction(0), 60.0),)),
)
