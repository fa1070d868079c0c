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

Opener = Callable[[Voice], Output]
#: What is done on the planning thread; returns the commands for the output.
_Request = Callable[[], Iterable[Command]]

#: How often the plan is carried on while it plays, and looked after while not, in seconds.
PERIOD = 0.03
REST = 0.25
#: A device whose clock stands still so long while it is open is gone, in seconds.
STALLED = 1.0
#: How soon a device that is not there is tried again, in seconds: at first, and at most.
RETRY = 2.0
RETRY_AT_MOST = 15.0


@dataclass(frozen=True, slots=True)
class _Asked:
    """What `where` says until the planning thread has taken up a request."""

    number: int
    where: Where


class Player:
    """One player. `notice` is empty where all is well; `output` names where it sounds."""

    def __init__(
        self,
        opener: Opener | None = None,
        voice: Voice | None = None,
        *,
        clock: Callable[[], float] = time.monotonic,
        again: bool = True,
        retry: float = RETRY,
    ) -> None:
        self.notice = ""
        self._opener = opener
        self._voice = voice or Voice()
        self._clock = clock
        self._again = again
        self._retry = self._first_retry = retry
        self._options = Options()
        self._output: Output = Silent(clock)
        self._transport = Transport()
        self._seen: tuple[Output, Seen] = (self._output, Seen())
        self._box: queue.SimpleQueue[tuple[int, _Request]] = queue.SimpleQueue()
        self._count = 0
        self._asked: _Asked | None = None
        self._closed = threading.Event()
        self._ready = threading.Event()
        self._lost = self._opened = False
        self._tried = clock()
        self._moved = (0.0, clock())  # the device's clock, and when it was last seen to move
        self._thread = threading.Thread(target=self._serve, name="player", daemon=True)
        self._thread.start()

    @classmethod
    def open(cls, kind: str = "auto", voice: Voice | None = None) -> Player:
        """A player for a value of `--sound`; returns at once, the device opens meanwhile.

        Raises InputError for a value that is none.
        """
        asked = Asked.parse(kind)
        if asked.kind == "none":
            return cls(None, voice)
        # A file is not begun anew: that would wipe out what has been recorded.
        return cls(lambda chosen: open_output(asked, chosen), voice, again=asked.kind != "file")

    # Requests: none of them waits

    def load(self, score: Score) -> None:
        """Play this score from now on, also in the middle of playing."""
        self._ask(lambda: self._transport.load(score, self._output.now()))

    def play(
        self,
        start: Fraction = Fraction(0),
        *,
        loop: tuple[Fraction, Fraction] | None = None,
        count_in: int = 0,
    ) -> None:
        """Play from a place in whole notes, in a loop or to the end, after bars of count-in."""
        self._options = options = replace(self._options, loop=loop)

        def request() -> list[Command]:
            now = self._output.now()
            return [
                *self._transport.change(options, now),
                *self._transport.play(start, now, bars_in=count_in, grid=self._output.grid),
            ]

        state = State.COUNTING if count_in else State.PLAYING
        self._ask(request, Where(state, float(start), int(not count_in)))

    def stop(self) -> None:
        """Stop; `where` tells the place where it stopped."""
        here = Where(State.STOPPED, self.where().place)
        self._ask(lambda: self._transport.stop(self._output.now()), here)

    def panic(self) -> None:
        """Stop, and silence everything whatever it is."""
        here = Where(State.STOPPED, self.where().place)
        self._ask(lambda: self._transport.panic(self._output.now()), here)

    def strike(self, keys: Iterable[tuple[int, int]], seconds: float = 1.5) -> None:
        """Sound (MIDI key, velocity) together for so long, while nothing plays."""
        struck = tuple(keys)
        self._ask(lambda: self._transport.strike(struck, seconds, self._output.now()))

    def change(self, options: Options) -> None:
        """Play in another way from now on; 0.1 to 4 times as fast as written."""
        factor = min(4.0, max(0.1, options.factor))
        level = min(1.0, max(0.0, options.click_level))
        now = replace(options, factor=factor, click_level=level)
        if now != self._options:
            self._options = now
            self._ask(lambda: self._transport.change(now, self._output.now()))

    def set_voice(self, voice: Voice) -> None:
        """Sound with another program, gain, reverb or soundfont; the music goes on.

        A soundfont that cannot be used leaves the one before, and `notice` says why.
        """
        self._ask(lambda: self._take_voice(voice))

    @property
    def by_soundfont(self) -> bool:
        """Whether it sounds as a soundfont does: not where nothing does, or a port's instrument."""
        return self._seen[0].by_soundfont

    def close(self) -> None:
        """Stop and give the device back; waits a moment for it."""
        self._closed.set()
        self._ask(list)
        self._thread.join(timeout=3)

    # What can be read at any time

    @property
    def options(self) -> Options:
        """What is asked for at the moment."""
        return self._options

    @property
    def voice(self) -> Voice:
        """How it sounds at the moment."""
        return self._voice

    @property
    def output(self) -> str:
        """Where it sounds, for people."""
        return self._seen[0].name

    def where(self) -> Where:
        """What sounds now, by the device's own clock."""
        asked = self._asked
        if asked is not None:
            return asked.where
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

    def _take_voice(self, voice: Voice) -> list[Command]:
        before, self._voice = self._voice, voice
        other = voice.soundfont != before.soundfont
        if other and self._lost and (self._again or not self._opened):
            self._open()  # it may have been the soundfont that kept it from opening
        try:
            self._output.set_voice(voice)
        except SoundError as error:
            if not other:
                raise
            self._voice = replace(voice, soundfont=before.soundfont)
            self._output.set_voice(self._voice)
            self.notice = f"{error.message}; the soundfont before it is used"
        else:
            self.notice = self.notice if self._lost else ""
        return []

    def _ask(self, request: _Request, where: Where | None = None) -> None:
        self._count += 1
        if where is not None:
            self._asked = _Asked(self._count, where)
        self._box.put((self._count, request))

    def _serve(self) -> None:
        self._open()
        self._ready.set()
        while not self._closed.is_set():
            number = self._attend()
            self._seen = (self._output, self._transport.seen)
            asked = self._asked
            if asked is not None and asked.number <= number:
                self._asked = None
        self._attempt(lambda: self._transport.stop(self._output.now()))
        self._attempt(self._close_output)

    def _attend(self) -> int:
        """Wait for requests and answer them, plan on; returns the last request's number."""
        number = 0
        try:
            wait = PERIOD if self._transport.seen.runs else REST
            number, request = self._box.get(timeout=wait)
            self._attempt(request)
            while not self._box.empty():
                number, request = self._box.get()
                self._attempt(request)
        except queue.Empty:
            pass
        self._attempt(lambda: self._transport.tick(self._output.now()))
        self._attempt(self._watch)
        return number

    def _attempt(self, request: _Request) -> None:
        """Do a request; whatever fails, the music is silent at worst, and one line says why."""
        try:
            for command in request():
                if isinstance(command, Cancel):
                    self._output.cancel(command.at)
                else:
                    self._output.send(command.at, command.message)
        except SoundError as error:
            self._lose(error)
        except Exception as error:  # noqa: BLE001 - a fault here must not leave the screen without a player
            self._transport = Transport(self._transport.score, self._options)
            self._lose(SoundError(f"a fault of the player ({error!r})", "please report it"))

    def _open(self) -> SoundError | None:
        """Open the device; what is wrong where it does not open, which is said but once."""
        if self._opener is None:
            return None
        self._tried = self._clock()
        try:
            output = self._opener(self._voice)
        except SoundError as error:
            if self._lost:
                self._retry = min(RETRY_AT_MOST, self._retry * 1.5)
            else:
                self.notice = f"No sound: {error}"
                self._lost, self._retry = True, self._first_retry
            return error
        self._lost, self._opened = False, True
        self.notice = ""
        self._switch(output).close()
        return None

    def _switch(self, output: Output) -> Output:
        """Go on at another output, from the place where the music is; returns the old one."""
        old, score = self._output, self._transport.score
        where = self._transport.seen.where(old.now())
        self._transport = Transport(score, self._options)
        self._output = output
        self._moved = (output.now(), self._clock())
        if where.state is not State.STOPPED:
            now, grid = output.now(), output.grid
            place = Fraction(where.place)
            self._attempt(lambda: self._transport.play(place, now, grid=grid))
        self._seen = (output, self._transport.seen)
        return old

    def _watch(self) -> Iterable[Command]:
        """Notice a device whose clock stands still; try again one that is gone."""
        real, now = self._clock(), self._output.now()
        if now != self._moved[0]:
            self._moved = (now, real)
        elif real - self._moved[1] > STALLED:
            raise SoundError("the sound device is gone", "it is taken up again when it is back")
        if self._lost and self._again and real - self._tried > self._retry:
            self._open()
        return ()

    def _lose(self, error: SoundError) -> None:
        """Go silent with one line; the music goes on on the silent clock."""
        self.notice = f"No sound: {error}"
        self._lost, self._retry = True, self._first_retry
        self._tried = self._clock()
        gone = self._switch(Silent(self._clock))
        # A driver whose device was pulled may never come back from closing it.
        threading.Thread(target=gone.close, name="closing", daemon=True).start()

    def _close_output(self) -> Iterable[Command]:
        self._output.close()
        return ()
