"""What the transport plays from: a performance with its beats, laid out in seconds."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from heapq import merge

from engine.meter import Meter
from engine.perform import PedalMove, Performance, Played, TempoMap, TempoPoint
from engine.perform.tempo import tempo_points
from engine.song import Song


@dataclass(frozen=True, slots=True)
class Beat:
    """A place where the metronome clicks: `weight` 2 downbeat, 1 start of a group, 0 other."""

    onset: Fraction
    weight: int


Event = Played | PedalMove | Beat


@dataclass(frozen=True, slots=True)
class Timed:
    """Something that sounds, `at` seconds from the start in the song's own tempo.

    `late` seconds are added whatever the tempo; `until` is where a note ends.
    """

    at: float
    what: Event
    late: float = 0.0
    until: float = 0.0


class Line:
    """All that sounds, in one tempo map. Nothing is laid out before it is asked for.

    A change of the score must be heard at once, so that its length may cost no time.
    """

    def __init__(self, performance: Performance, beats: tuple[Beat, ...], tempo: TempoMap) -> None:
        self.tempo = tempo
        self.beats = beats
        self._notes = performance.notes
        self._melody = performance.melody
        self._pedal = performance.pedal

    def since(self, seconds: float) -> Iterator[Timed]:
        """What sounds from a time on, in order; pedal and beats before notes of the same time."""
        each = (self._pedal, self.beats, self._notes, self._melody)
        return merge(*(self._from(part, seconds) for part in each), key=lambda timed: timed.at)

    def pedal_before(self, seconds: float) -> Iterator[Timed]:
        """The pedal's moves before a time, the last first."""
        for index in range(self._first(self._pedal, seconds) - 1, -1, -1):
            yield self._timed(self._pedal[index])

    def beats_before(self, seconds: float) -> int:
        """How many beats begin before a time."""
        return self._first(self.beats, seconds)

    def note(self, strand: str, midi: int, onset: Fraction) -> Timed | None:
        """The note that a hand or the melody has there, if it does."""
        notes = self._melody if strand == "melody" else self._notes
        for index in range(bisect_left(notes, onset, key=_onset), len(notes)):
            note = notes[index]
            if note.onset != onset:
                return None
            if (note.midi, note.strand) == (midi, strand):
                return self._timed(note)
        return None

    def _from(self, part: Sequence[Event], seconds: float) -> Iterator[Timed]:
        for index in range(self._first(part, seconds), len(part)):
            yield self._timed(part[index])

    def _first(self, part: Sequence[Event], seconds: float) -> int:
        """The index of the first that begins at a time or later."""
        at = self.tempo.seconds
        index = bisect_left(part, self.tempo.place(seconds), key=lambda event: float(event.onset))
        while index and at(part[index - 1].onset) >= seconds:
            index -= 1
        while index < len(part) and at(part[index].onset) < seconds:
            index += 1
        return index

    def _timed(self, what: Event) -> Timed:
        at = self.tempo.seconds(what.onset)
        if isinstance(what, Beat):
            return Timed(at, what)
        late = max(0.0, what.late_ms / 1000)
        end = self.tempo.seconds(what.end) if isinstance(what, Played) else 0.0
        return Timed(at, what, late, end)


def _onset(event: Event) -> Fraction:
    return event.onset


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
        """The line to play."""
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
    beats = [
        Beat(bar.start - shift + place, weight)
        for bar in bars
        for place, weight in _clicks(bar.meter)
    ]
    points = tempo_points(bars, tempo_scale, None)
    steady = tuple(TempoPoint(point.onset - shift, point.quarters) for point in points)
    return Score(
        performance,
        tuple(beats),
        tuple((bar.start - shift, bar.meter.bar, bar.meter.beat) for bar in bars),
        TempoMap(steady or performance.tempo),
    )


@lru_cache(maxsize=64)
def _clicks(meter: Meter) -> tuple[tuple[Fraction, int], ...]:
    """(place, weight) of each click in a bar: every beat, and where a group begins."""
    groups = set(meter.group_starts)
    inside = max(meter.group_lengths) > meter.beat
    places = {meter.beat * number for number in range(meter.beats)} | groups
    return tuple(
        (place, 2 if place == 0 else int(inside and place in groups)) for place in sorted(places)
    )


EMPTY = Score(
    performance=Performance((), (), (TempoPoint(Fraction(0), 60.0),), Fraction(0)),
    beats=(),
    bars=((Fraction(0), Fraction(1), Fraction(1, 4)),),
    steady=TempoMap((TempoPoint(Fraction(0), 60.0),)),
)
