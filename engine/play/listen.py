"""Listening to a MIDI keyboard: its keys as (key, struck), fetched without waiting."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from typing import Any, Protocol

from engine.errors import SoundError
from engine.play.ports import input_names, open_input

Heard = Callable[[Any], None]

#: How often a keyboard is looked for that is not there, or looked after that is, in seconds.
LOOK = 3.0


class Input(Protocol):
    """What is needed of a mido input port."""

    name: str

    def close(self) -> None: ...


def _still_there(name: str) -> bool:
    try:
        return name in input_names()
    except SoundError:
        return False


class Keyboard:
    """A MIDI keyboard. `notice` is empty, or says in one line why none is heard.

    `opener` opens a port that hands each message to a function, from a thread
    of its own. One that is pulled or not there yet is taken up when it comes;
    `there` says whether a port still is.
    """

    def __init__(
        self,
        opener: Callable[[Heard], Input],
        there: Callable[[str], bool] = _still_there,
        look: float = LOOK,
    ) -> None:
        self.notice = ""
        self.name = ""
        self._opener = opener
        self._there = there
        self._look = look
        self._events: queue.SimpleQueue[tuple[int, bool] | None] = queue.SimpleQueue()
        self._down: set[int] = set()
        self._port: Input | None = None
        self._closed = threading.Event()
        self._open()
        threading.Thread(target=self._watch, name="keyboard", daemon=True).start()

    @classmethod
    def open(cls, name: str = "") -> Keyboard:
        """The keyboard of that name, or the first there is."""
        return cls(lambda heard: open_input(name, heard))

    def _open(self) -> None:
        try:
            self._port = self._opener(self._take)
        except SoundError as error:
            self.notice = self.notice or f"No keyboard: {error}"
        else:
            self.name, self.notice = self._port.name, ""

    def _watch(self) -> None:
        while not self._closed.wait(self._look):
            if self._port is None:
                self._open()
            elif not self._there(self._port.name):
                self._port.close()
                self._port = None
                self._events.put(None)
                self.notice = f"No keyboard: {self.name} is gone; plug it in again"

    def _take(self, message: Any) -> None:
        """Called by the port. A note-on of velocity 0 is a note-off (Standard MIDI)."""
        if message.type in ("note_on", "note_off"):
            struck = message.type == "note_on" and message.velocity > 0
            self._events.put((message.note, struck))

    def fetch(self) -> list[tuple[int, bool]]:
        """The (key, struck) that have come since the last call, in order."""
        found: list[tuple[int, bool]] = []
        while not self._events.empty():
            event = self._events.get()
            came = [event] if event else [(key, False) for key in self.held]  # none holds if gone
            for key, struck in came:
                (self._down.add if struck else self._down.discard)(key)
            found += came
        return found

    @property
    def held(self) -> tuple[int, ...]:
        """The keys that are down, low to high, by the last `fetch`."""
        return tuple(sorted(self._down))

    def close(self) -> None:
        self._closed.set()
        if self._port is not None:
            self._port.close()
            self._port = None
