"""Where it sounds: what every output can do, and the silent clock."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Protocol

from engine.play.fluid import Voice
from engine.play.message import Message


class Output(Protocol):
    """A place where messages sound at their time. `name` is for people.

    `grid` is the smallest step of its time in seconds, 0 where there is none.
    `by_soundfont` says whether it sounds as a soundfont does.
    Methods may raise SoundError; then the output is of no more use.
    """

    grid: float
    by_soundfont: bool

    @property
    def name(self) -> str: ...

    def now(self) -> float:
        """Seconds of sound so far, by the device's own clock."""
        ...

    def send(self, at: float, message: Message) -> None:
        """Let a message sound at a time; at once where the time is past."""
        ...

    def cancel(self, at: float) -> None:
        """Take back what was to sound at a time or later."""
        ...

    def set_voice(self, voice: Voice) -> None:
        """Sound with another program, gain, reverb and soundfont, where the output can.

        A soundfont that cannot be used raises SoundError and changes nothing.
        """
        ...

    def close(self) -> None:
        """Give the device back."""
        ...


class Silent:
    """The silent clock: time passes, nothing sounds."""

    name = "no sound"
    grid = 0.0
    by_soundfont = False

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._start = clock()

    def now(self) -> float:
        return self._clock() - self._start

    def send(self, at: float, message: Message) -> None:
        """Nothing sounds."""

    def cancel(self, at: float) -> None:
        """Nothing sounded."""

    def set_voice(self, voice: Voice) -> None:
        """Nothing sounds."""

    def close(self) -> None:
        """There is nothing to give back."""
