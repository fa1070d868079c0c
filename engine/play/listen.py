"""Listening to a MIDI keyboard: its keys as (key, struck), fetched without waiting."""

from __future__ import annotations

import queue
from collections.abc import Callable
from typing import Any, Protocol

from engine.errors import SoundError
from engine.play.ports import open_input

Heard = Callable[[Any], None]


class Input(Protocol):
    """What is needed of a mido input port."""

    name: str

    def close(self) -> None: ...


class Keyboard:
    """A MIDI keyboard. `notice` is empty, or says in one line why none is heard.

    `opener` opens a port that hands each message to a function, from a thread of its own.
    """

    def __init__(self, opener: Callable[[Heard], Input]) -> None:
        self.notice = ""
        self.name = ""
        self._events: queue.SimpleQueue[tuple[int, bool]] = queue.SimpleQueue()
        self._down: set[int] = set()
        self._port: Input | None = None
        try:
            self._port = opener(self._take)
        except SoundError as error:
            self.notice = f"No keyboard: {error}"
        else:
            self.name = self._port.name

    @classmethod
    def open(cls, name: str = "") -> Keyboard:
        """The keyboard of that name, or the first there is."""
        return cls(lambda heard: open_input(name, heard))

    def _take(self, message: Any) -> None:
        """Called by the port. A note-on of velocity 0 is a note-off (Standard MIDI)."""
        if message.type in ("note_on", "note_off"):
            struck = message.type == "note_on" and message.velocity > 0
            self._events.put((message.note, struck))

    def fetch(self) -> list[tuple[int, bool]]:
        """The (key, struck) that have come since the last call, in order."""
        found = []
        while not self._events.empty():
            key, struck = self._events.get()
            found.append((key, struck))
            (self._down.add if struck else self._down.discard)(key)
        return found

    @property
    def held(self) -> tuple[int, ...]:
        """The keys that are down, low to high, by the last `fetch`."""
        return tuple(sorted(self._down))

    def close(self) -> None:
        if self._port is not None:
            self._port.close()
            self._port = None
