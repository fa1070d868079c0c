"""A run: a stretch of music laid on an output's clock, giving its events in time order."""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from engine.perform import PedalMove, Performance, Played, TempoMap, TempoPoint
from engine.play.ledger import NEXT_TO
from engine.play.score import Beat, Line, Score, Timed

#: How far after its place in the score anything may sound, in seconds.
LATEST = 0.3
#: The shortest a note sounds, however late its attack, and how long a click does, in seconds.
SHORTEST = 0.02
CLICK_LENGTH = 0.05

#: Which note or click: pass, hand, "melody" or "click", key, onset.
NoteId = tuple[int, str, int, Fraction]


@dataclass(frozen=True, slots=True)
class Span:
    """Where a run lies: it begins at `at` seconds of the clock and `start` seconds of the line.

    It lasts to `stop` seconds of the line, `factor` times as fast as written.
    A count-in has pass number 0 and `place`, where the music will begin.
    """

    at: float
    start: float
    stop: float
    factor: float
    pass_number: int
    place: Fraction | None = None

    @property
    def end_at(self) -> float:
        """When it ends, in seconds of the clock."""
        return self.clock(self.stop)

    def clock(self, seconds: float) -> float:
        """When a time of the line sounds, in seconds of the clock."""
        return self.at + (seconds - self.start) / self.factor

    def seconds(self, clock: float) -> float:
        """What time of the line sounds at a time of the clock."""
        return self.start + (clock - self.at) * self.factor


@dataclass(frozen=True, slots=True)
class Due:
    """An event with its time on the clock; `let_go` marks the end of a note."""

    at: float
    timed: Timed
    let_go: bool = False


class Run:
    """The events of a span of a line, in time order. `struck` are notes not to strike again.

    A run that a change has `cut_short` only says where the music was until then.
    """

    def __init__(self, line: Line, span: Span, struck: frozenset[NoteId] = frozenset()) -> None:
        self.line = line
        self.span = span
        self.cut_short = False
        self._struck = struck
        self._events = line.since(span.start - LATEST * span.factor)
        self._next = next(self._events, None)
        self._heap: list[tuple[float, int, int, Due]] = []
        self._count = 0

    def note_id(self, what: Played | Beat) -> NoteId:
        if isinstance(what, Beat):
            return (self.span.pass_number, "click", what.weight, what.onset)
        return (self.span.pass_number, what.strand, what.midi, what.onset)

    def hold(self, timed: Timed) -> None:
        """Plan the end of a note that is already sounding."""
        self._push(self.span.clock(timed.until), timed, let_go=True)

    def until(self, clock: float) -> Iterator[Due]:
        """What is due at that time or before, and has not been given yet."""
        self._fetch(clock)
        while self._heap and self._heap[0][0] <= clock:
            yield heapq.heappop(self._heap)[3]

    def pedal_at(self) -> int:
        """The pedal's value where the span begins, moves that are still to come left out."""
        for event in self.line.pedal_before(self.span.start):
            due = self.span.clock(event.at) + event.late
            if isinstance(event.what, PedalMove) and due < self.span.at - NEXT_TO:
                return event.what.value
        return 0

    def _push(self, at: float, timed: Timed, *, let_go: bool) -> None:
        self._count += 1
        rank = 0 if let_go else 1
        heapq.heappush(self._heap, (at, rank, self._count, Due(at, timed, let_go)))

    def _fetch(self, until: float) -> None:
        """Take up what the line has until a time of the clock."""
        span = self.span
        while (event := self._next) is not None:
            at = span.clock(event.at)
            if at > until or event.at >= span.stop - NEXT_TO:
                return
            self._next = next(self._events, None)
            at += event.late
            if at < span.at - NEXT_TO:
                continue
            at = max(at, span.at)
            what = event.what
            if not isinstance(what, PedalMove):
                if self.note_id(what) in self._struck:
                    continue
                is_click = isinstance(what, Beat)
                end = at + CLICK_LENGTH if is_click else span.clock(event.until)
                self._push(max(end, at + SHORTEST), event, let_go=True)
            self._push(at, event, let_go=False)


def count_in(score: Score, line: Line, place: Fraction, bars: int) -> tuple[Line, float]:
    """The clicks before the music begins at a place, and how long they last, in seconds.

    `bars` whole bars and what of its own bar comes before the place, clicked as
    that bar is and in the tempo there.
    """
    start, length, _ = score.bar_at(place)
    bar = [
        Beat(beat.onset - start, beat.weight)
        for beat in score.beats
        if start <= beat.onset < start + length
    ]
    end = bars * length + place - start
    beats = tuple(
        Beat(number * length + beat.onset, beat.weight)
        for number in range(bars + 1)
        for beat in bar
        if number * length + beat.onset < end
    )
    points = (TempoPoint(Fraction(0), line.tempo.quarters(place)),)
    tempo = TempoMap(points)
    return Line(Performance((), (), points, end), beats, tempo), tempo.seconds(end)
