"""The transport: a pure state machine of what plays when. Requests and times in, commands out.

It never waits, reads no clock and touches no device. Times (`now`, `at`) are
seconds of the output's own clock. It plans `AHEAD` seconds into the future;
every live change takes the plan back from `GUARD` seconds after now and plans
anew, so that it is heard at once and nothing sticks or sounds twice.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from engine.perform import PedalMove, Played
from engine.play.ledger import Key, Ledger, only_changes
from engine.play.message import (
    CLICKS,
    CONTROL,
    MELODY,
    OFF,
    PEDAL,
    PIANO,
    Command,
    Message,
    Send,
)
from engine.play.run import Due, NoteId, Run, Span, count_in
from engine.play.score import EMPTY, Beat, Line, Score

#: How far ahead the plan reaches, and how far ahead it can still be changed, in seconds.
AHEAD = 0.3
GUARD = 0.03
#: A plan that ran out this long ago, in seconds, is taken up where it broke off.
LAPSE = 0.25
#: Where a pass begins inside a pedalled stretch, the pedal goes down again after this, in seconds.
REPRESS = 0.06
#: General MIDI percussion: high and low wood block; by weight of the beat, key and velocity.
CLICK = {2: (76, 115), 1: (76, 80), 0: (77, 75)}
#: Controllers of the panic key: pedal up, all notes off, all sound off (Standard MIDI).
_PANIC = (PEDAL, 123, 120)


class State(StrEnum):
    STOPPED = "stopped"
    COUNTING = "counting"
    PLAYING = "playing"


@dataclass(frozen=True, slots=True)
class Options:
    """What may be changed while it plays.

    `loop` is a stretch in whole notes; `factor` how many times as fast as
    written; `left` and `right` the loudness of each hand and `melody` that of
    the melody, 1 as written and 0 silent; `click_level` 0–1; `transpose` in semitones.
    """

    loop: tuple[Fraction, Fraction] | None = None
    factor: float = 1.0
    left: float = 1.0
    right: float = 1.0
    melody: float = 1.0
    click: bool = False
    click_level: float = 0.7
    transpose: int = 0

    def level(self, strand: str) -> float:
        """The loudness of a hand or the melody, by a note's `strand`."""
        return {"left": self.left, "right": self.right}.get(strand, self.melody)

    def key(self, note: Played) -> Key:
        """The channel and key that a note sounds on."""
        return (MELODY if note.hand is None else PIANO, note.midi + self.transpose)


@dataclass(frozen=True, slots=True)
class Where:
    """What sounds at a moment: `place` in whole notes, `pass_number` of the loop from 1.

    While counting in, `beats_left` clicks are still to come, the one that
    sounds included, and the pass number is 0.
    """

    state: State
    place: float
    pass_number: int = 0
    beats_left: int = 0


@dataclass(frozen=True, slots=True)
class Seen:
    """The plan as a value: enough to say where the music is at any moment of it."""

    runs: tuple[tuple[Span, Line], ...] = ()
    rest: float = 0.0

    def where(self, now: float) -> Where:
        """Where the music is at a time of the clock."""
        if not self.runs or now >= self.runs[-1][0].end_at:
            return Where(State.STOPPED, self.rest)
        span, line = self.runs[0]
        for later, its_line in self.runs[1:]:
            if later.at > now:
                break
            span, line = later, its_line
        seconds = max(span.start, min(span.seconds(now), span.stop))
        if span.place is not None:
            count = len(line.beats)
            left = min(count, count - line.beats_before(seconds + 0.001) + 1)
            return Where(State.COUNTING, float(span.place), 0, left)
        return Where(State.PLAYING, line.tempo.place(seconds), span.pass_number)


class Transport:
    """Plays a score. Every request returns the commands for the output, in order."""

    def __init__(self, score: Score = EMPTY, options: Options | None = None) -> None:
        self.score = score
        self.options = options or Options()
        self._ledger = Ledger()
        self._runs: deque[Run] = deque()
        self._struck: deque[tuple[float, NoteId]] = deque()
        self._planned = 0.0
        self._rest = 0.0

    @property
    def seen(self) -> Seen:
        """The plan as it stands."""
        return Seen(tuple((run.span, run.line) for run in self._runs), self._rest)

    def load(self, score: Score, now: float) -> list[Command]:
        """Play another score from here on; the place in it stays the same."""
        self.score = score
        if self._runs:
            return self._change(now)
        self._rest = min(self._rest, float(score.end))
        return []

    def play(
        self, start: Fraction, now: float, *, bars_in: int = 0, grid: float = 0.0
    ) -> list[Command]:
        """Play from a place, after `bars_in` bars of count-in.

        The music begins on a multiple of `grid` seconds, the smallest step of
        time the output knows, so that its first onset is exact.
        """
        found = self.stop(now)
        at = now + GUARD
        if grid:
            at = -(-at // grid) * grid
        self._planned = at
        first, last = self._bounds
        place = max(start, Fraction(0))
        if self.options.loop and not first <= place < last:
            place = first
        if place >= last:
            return found
        if bars_in:
            clicks, length = count_in(self.score, self._line, place, bars_in)
            self._runs.append(Run(clicks, Span(at, 0.0, length, self.options.factor, 0, place)))
        else:
            found += self._begin(at, place, 1)
        return found + self._fill(now + AHEAD)

    def stop(self, now: float) -> list[Command]:
        """Stop: every key up, pedal up."""
        self._ledger.settle(now)
        if not self._runs and not self._ledger.pending:
            return []
        at = self._ledger.gap(now + GUARD)
        self._rest = self.seen.where(now).place
        found = [self._cut(at), *self._ledger.silence(at), *self._ledger.press(at, 0)]
        self._runs.clear()
        return found

    def change(self, options: Options, now: float) -> list[Command]:
        """Take new options, heard at once."""
        if options == self.options:
            return []
        self.options = options
        return self._change(now) if self._runs else []

    def strike(self, keys: Iterable[tuple[int, int]], seconds: float, now: float) -> list[Command]:
        """Sound (key, velocity) together for so long; nothing where music plays."""
        if self._runs:
            return []
        found = self.stop(now)
        at = now + GUARD
        for key, velocity in keys:
            found += self._ledger.strike(at, (PIANO, key), velocity, "struck")
        return found + self._ledger.silence(at + seconds)

    def panic(self, now: float) -> list[Command]:
        """Stop, and let go of every key there is, whatever is known to be down."""
        found = self.stop(now)
        at = now + GUARD
        for channel in (PIANO, MELODY, CLICKS):
            found += [Send(at, Message(CONTROL, channel, number)) for number in _PANIC]
        for channel in (PIANO, MELODY):
            found += [Send(at, Message(OFF, channel, key)) for key in range(128)]
        return found

    def tick(self, now: float) -> list[Command]:
        """Plan on. To be called at least every `AHEAD` / 2 seconds while it plays."""
        self._ledger.settle(now)
        while self._struck and self._struck[0][0] < now - 1:
            self._struck.popleft()
        if not self._runs:
            return []
        if self._planned < now - LAPSE:
            return self._resume(now)
        found = self._fill(now + AHEAD)
        while len(self._runs) > 1 and self._runs[1].span.at <= now:
            self._runs.popleft()
        if now >= self._runs[-1].span.end_at:
            self._runs.clear()
        return found

    # The plan

    @property
    def _line(self) -> Line:
        return self.score.lay_out(looped=self.options.loop is not None)

    @property
    def _bounds(self) -> tuple[Fraction, Fraction]:
        """Where the music begins again, and where it ends."""
        end = self.score.end
        if self.options.loop:
            first, last = self.options.loop
            if first < min(last, end):
                return first, min(last, end)
        return Fraction(0), end

    def _span(self, at: float, place: Fraction | float, pass_number: int) -> Span:
        seconds = self._line.tempo.seconds
        stop = seconds(self._bounds[1])
        return Span(at, seconds(place), stop, self.options.factor, pass_number)

    def _begin(self, at: float, place: Fraction, pass_number: int) -> list[Command]:
        """Lay the music on the clock from a place on."""
        first, last = self._bounds
        run = Run(self._line, self._span(at, place if place < last else first, pass_number))
        held = self._ledger.pedal
        found = self._ledger.press(at, 0)
        if run.pedal_at():
            found += self._ledger.press(at + (REPRESS if held else 0.0), 127)
        self._runs.append(run)
        return found

    def _fill(self, until: float) -> list[Command]:
        """Send what is due until a time, from run to run."""
        found: list[Command] = []
        self._planned = until
        while not (run := self._runs[-1]).cut_short:
            end = run.span.end_at
            for due in run.until(min(until, end)):
                found += self._sound(run, due)
            if until < end:
                break
            found += self._ledger.silence(end)
            first, last = self._bounds
            if run.span.place is not None:
                found += self._begin(end, run.span.place, 1)
            elif self.options.loop and first < last:
                found += self._begin(end, first, run.span.pass_number + 1)
            else:
                found += self._ledger.press(end, 0)
                self._rest = 0.0
                break
        return found

    def _sound(self, run: Run, due: Due) -> list[Command]:
        """The commands for one event, as the options have it."""
        what, options = due.timed.what, self.options
        if isinstance(what, PedalMove):
            return self._ledger.press(due.at, what.value)
        note = run.note_id(what)
        if isinstance(what, Beat):
            number, velocity = CLICK[what.weight]
            key: Key = (CLICKS, number)
            level = options.click_level if options.click or run.span.place is not None else 0.0
        else:
            key, velocity = options.key(what), what.velocity
            level = options.level(what.strand)
        if due.let_go:
            return self._ledger.release(due.at, key, note)
        if not level or not 0 <= key[1] <= 127:
            return []
        self._struck.append((due.at, note))
        loud = max(1, min(127, round(velocity * level)))
        return self._ledger.strike(due.at, key, loud, note)

    # Changes of the plan

    def _cut(self, at: float) -> Command:
        """Take the plan back from a time on; the run that holds that time stays."""
        while self._struck and self._struck[-1][0] >= at:
            self._struck.pop()
        while len(self._runs) > 1 and self._runs[-1].span.at >= at:
            self._runs.pop()
        return self._ledger.cut(at)

    def _change(self, now: float) -> list[Command]:
        """Plan anew from just after now, and send what differs."""
        self._ledger.settle(now)
        at = self._ledger.gap(now + GUARD)
        before = self._ledger.sent_from(at)
        new = self._planned_anew(at, now)
        return only_changes(before, [each for each in new if isinstance(each, Send)])

    def _planned_anew(self, at: float, now: float) -> list[Command]:
        """The plan from a time just after now, going on with what sounds and is still written."""
        found: list[Command] = []
        self._cut(at)
        run = self._runs.pop()
        span = run.span
        at = max(at, span.at)
        first, last = self._bounds
        place = Fraction(run.line.tempo.place(span.seconds(at)))
        if at >= span.end_at and not run.cut_short:
            self._runs.append(run)
        elif span.place is not None:
            self._keep_past(run, at)
            rest = replace(span, at=at, start=span.seconds(at), factor=self.options.factor)
            self._runs.append(Run(run.line, rest))
        elif first <= place < last:
            self._keep_past(run, at)
            found += self._go_on(at, place, span.pass_number)
        else:
            self._keep_past(run, at)
            found += self._ledger.silence(at)
            if not self.options.loop or first >= last:
                self._rest = 0.0
                return [*found, *self._ledger.press(at, 0)]
            found += self._begin(at, first, 1)
        return found + self._fill(now + AHEAD)

    def _keep_past(self, run: Run, at: float) -> None:
        """Keep a run up to a time, so that the place until then can still be told."""
        if run.span.at < at:
            stop = run.span.seconds(at)
            past = Run(run.line, replace(run.span, stop=stop))
            past.cut_short = True
            self._runs.append(past)

    def _go_on(self, at: float, place: Fraction, pass_number: int) -> list[Command]:
        """Begin a run in the middle of sounding music."""
        struck = frozenset(note for _, note in self._struck)
        run = Run(self._line, self._span(at, place, pass_number), struck)

        def stays(key: Key, note: Hashable) -> bool:
            if not isinstance(note, tuple) or note[1] == "click":
                return False
            timed = run.line.note(*note[1:])
            if timed is None or not isinstance(timed.what, Played):
                return False
            kept = (
                note == run.note_id(timed.what)
                and key == self.options.key(timed.what)
                and self.options.level(timed.what.strand) > 0
                and timed.until > run.span.start
            )
            if kept:
                run.hold(timed)
            return kept

        found = self._ledger.silence(at, stays)
        found += self._ledger.press(at, run.pedal_at())
        self._runs.append(run)
        return found

    def _resume(self, now: float) -> list[Command]:
        """After the plan ran out (the machine slept): go on where the sound broke off."""
        seen = self.seen.where(self._planned)
        self._runs.clear()
        found = [*self._ledger.silence(now), *self._ledger.press(now, 0)]
        if seen.state is not State.STOPPED:
            found += self._begin(now, Fraction(seen.place), max(1, seen.pass_number))
            found += self._fill(now + AHEAD)
        return found
