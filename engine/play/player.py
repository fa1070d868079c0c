"""The player a screen owns: requests go in without waiting, the place comes out of the audio clock.

A thread of its own only plans: it asks the transport what to send, some tenths
of a second ahead, and the output's own clock times the notes. No method waits
for it or for the device, and none raises for want of sound: where nothing can
sound, the silent clock runs and `notice` says in one line what is missing and
how to mend it.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from engine.errors import SoundError
from engine.play.fluid import Voice
from engine.play.message import Cancel, Command
from engine.play.opening import Asked, open_output
from engine.play.output import Output, Silent
from engine.play.score import Score
from engine.play.transport import Options, Seen, State, Transport, Where
from engine.song import Hand

Opener = Callable[[], Output]

#: How often the plan is carried on, in seconds.
PERIOD = 0.03
#: A device whose clock stands still this long while it plays is gone; it is tried again as often.
STALLED = 1.0
RETRY = 2.0


@dataclass(frozen=True, slots=True)
class _Request:
    """What a method asks of the thread."""

    kind: str
    score: Score | None = None
    start: Fraction = Fraction(0)
    bars_in: int = 0


class Player:
    """One player. `notice` is empty where all is well; `output` names where it sounds."""

    def __init__(
        self,
        opener: Opener | None = None,
        *,
        clock: Callable[[], float] = time.monotonic,
        retry: float = RETRY,
    ) -> None:
        self.notice = ""
        self._opener = opener
        self._clock = clock
        self._retry = retry
        self._options = Options()
        self._output: Output = Silent(clock)
        self._transport = Transport()
        self._seen: tuple[Output, Seen] = (self._output, Seen())
        self._box: queue.SimpleQueue[_Request] = queue.SimpleQueue()
        self._closed = threading.Event()
        self._ready = threading.Event()
        self._moved = (0.0, 0.0)  # the device's clock, and when it was last seen to move
        self._tried = clock()
        self._thread = threading.Thread(target=self._serve, name="player", daemon=True)
        self._thread.start()

    @classmethod
    def open(cls, kind: str = "auto", voice: Voice | None = None) -> Player:
        """A player for a value of `--sound`; returns at once, the device opens meanwhile.

        Raises InputError for a value that is none.
        """
        asked = Asked.parse(kind)
        if asked.kind == "none":
            return cls()
        return cls(lambda: open_output(asked, voice or Voice()))

    # Requests: none of them waits

    def load(self, score: Score) -> None:
        """Play this score from now on, also in the middle of playing."""
        self._ask(_Request("load", score=score))

    def play(
        self,
        start: Fraction = Fraction(0),
        *,
        loop: tuple[Fraction, Fraction] | None = None,
        count_in: int = 0,
    ) -> None:
        """Play from a place in whole notes, in a loop or to the end, after bars of count-in."""
        self._options = replace(self._options, loop=loop)
        self._ask(_Request("options"))
        self._ask(_Request("play", start=start, bars_in=count_in))

    def stop(self) -> None:
        """Stop; `where` tells the place where it stopped."""
        self._ask(_Request("stop"))

    def panic(self) -> None:
        """Stop, and silence everything whatever it is."""
        self._ask(_Request("panic"))

    def set_loop(self, loop: tuple[Fraction, Fraction] | None) -> None:
        """Loop a stretch from now on, or play to the end."""
        self._change(loop=loop)

    def set_tempo(self, factor: float) -> None:
        """Play so many times as fast as written, from now on (0.1 to 4)."""
        self._change(factor=min(4.0, max(0.1, factor)))

    def mute(self, hand: Hand, level: float = 0.0) -> None:
        """Set a hand's loudness: 0 silent, 1 as written, softer between."""
        self._change(**{hand.value: level})

    def click(self, on: bool, level: float | None = None) -> None:
        """Turn the metronome on or off; `level` 0–1 is its loudness."""
        self._change(click=on)
        if level is not None:
            self._change(click_level=min(1.0, max(0.0, level)))

    def transpose(self, semitones: int) -> None:
        """Sound so many semitones higher or lower."""
        self._change(transpose=semitones)

    def close(self) -> None:
        """Stop and give the device back; waits a moment for it."""
        self._closed.set()
        self._ask(_Request("close"))
        self._thread.join(timeout=3)

    # What can be read at any time

    @property
    def options(self) -> Options:
        """What is asked for at the moment."""
        return self._options

    @property
    def output(self) -> str:
        """Where it sounds, for people."""
        return self._seen[0].name

    def where(self) -> Where:
        """What sounds now, by the device's own clock."""
        output, seen = self._seen
        try:
            return seen.where(output.now())
        except SoundError:
            return Where(State.STOPPED, seen.rest)

    def position(self) -> float:
        """The place that sounds now, in whole notes."""
        return self.where().place

    @property
    def state(self) -> State:
        return self.where().state

    def wait_ready(self, seconds: float = 30.0) -> bool:
        """Wait until the device is open, or known not to open."""
        return self._ready.wait(seconds)

    # The planning thread

    def _change(self, **fields: object) -> None:
        self._options = replace(self._options, **fields)  # type: ignore[arg-type]
        self._ask(_Request("options"))

    def _ask(self, request: _Request) -> None:
        self._box.put(request)

    def _serve(self) -> None:
        self._open_first()
        while not self._closed.is_set():
            try:
                requests: list[_Request] = [self._box.get(timeout=PERIOD)]
                while not self._box.empty():
                    requests.append(self._box.get())
            except queue.Empty:
                requests = []
            try:
                for request in requests:
                    self._answer(request)
                self._execute(self._transport.tick(self._output.now()))
                self._watch()
            except SoundError as error:
                self._lose(error)
            self._seen = (self._output, self._transport.seen)
        self._shut()

    def _answer(self, request: _Request) -> None:
        transport = self._transport
        if request.kind == "load" and request.score is not None:
            request.score.lay_out(looped=bool(self._options.loop))
            self._execute(transport.load(request.score, self._output.now()))
        elif request.kind == "options":
            self._execute(transport.change(self._options, self._output.now()))
        elif request.kind == "play":
            output = self._output
            self._execute(
                transport.play(
                    request.start, output.now(), bars_in=request.bars_in, grid=output.grid
                )
            )
        elif request.kind == "panic":
            self._execute(transport.panic(self._output.now()))
        elif request.kind == "stop":
            self._execute(transport.stop(self._output.now()))

    def _execute(self, commands: Iterable[Command]) -> None:
        for command in commands:
            if isinstance(command, Cancel):
                self._output.cancel(command.at)
            else:
                self._output.send(command.at, command.message)

    def _open_first(self) -> None:
        if self._opener is not None:
            try:
                self._switch(self._opener())
            except SoundError as error:
                self.notice = f"No sound: {error}"
        self._ready.set()

    def _switch(self, output: Output) -> None:
        """Go on sounding at another output, from the place where the music is."""
        old = self._output
        where = self._transport.seen.where(old.now())
        score, options = self._transport.score, self._options
        self._transport = Transport(score, options)
        self._output = output
        self._moved = (output.now(), self._clock())
        if where.state is not State.STOPPED:
            start = Fraction(where.place)
            self._execute(self._transport.play(start, output.now(), grid=output.grid))
        self._seen = (output, self._transport.seen)
        if old is not output:
            old.close()

    def _watch(self) -> None:
        """Notice a device whose clock stands still; try again where there is none."""
        real, now = self._clock(), self._output.now()
        if now != self._moved[0]:
            self._moved = (now, real)
        elif real - self._moved[1] > STALLED and self._opener is not None:
            raise SoundError("the sound device is gone", "it is taken up again when it is back")
        lost = self._opener is not None and isinstance(self._output, Silent)
        if lost and self.notice and real - self._tried > self._retry:
            self._tried = real
            self._open_again()

    def _open_again(self) -> None:
        assert self._opener is not None
        try:
            output = self._opener()
        except SoundError:
            return
        self.notice = ""
        self._switch(output)

    def _lose(self, error: SoundError) -> None:
        """Go silent with one line; the music goes on on the silent clock."""
        self.notice = f"No sound: {error}"
        self._tried = self._clock()
        self._switch(Silent(self._clock))

    def _shut(self) -> None:
        try:
            self._execute(self._transport.stop(self._output.now()))
            self._output.close()
        except SoundError as error:
            self.notice = f"No sound: {error}"
