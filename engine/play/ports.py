"""MIDI ports: found and opened through mido, with a clock and a sender of their own."""

from __future__ import annotations

import heapq
import sys
import threading
import time
from collections.abc import Callable
from typing import Any, Protocol

from engine.errors import SoundError
from engine.play.fluid import Voice
from engine.play.message import CONTROL, MELODY, OFF, ON, PEDAL, PIANO, Message
from engine.play.quiet import hush

CURE = "'alberti doctor' lists the ports there are, and says what is missing"


#: ALSA's own port, behind which no instrument stands.
THROUGH = "midi through"


GONE_CURE = "plug it in again"
#: What is said where the extra `ports` is not installed.
NOT_INSTALLED = "python-rtmidi (MIDI ports) is not installed"


class Port(Protocol):
    """What is needed of a mido output port."""

    name: str

    def send(self, message: Any) -> None: ...

    def close(self) -> None: ...


def _mido() -> Any:
    """mido with its port backend loaded. Raises SoundError.

    python-rtmidi raises SystemError where the system has no sequencer, and
    ImportError where it is not installed.
    """
    import mido

    hush()
    try:
        mido.backend.load()
    except ImportError as error:
        raise SoundError(NOT_INSTALLED, f"{sys.executable} -m pip install python-rtmidi") from error
    except Exception as error:
        raise SoundError(f"MIDI ports are not there ({error})", CURE) from error
    return mido


def output_names() -> list[str]:
    """The names of the ports one can play to. Raises SoundError."""
    return _names("get_output_names")


def input_names() -> list[str]:
    """The names of the keyboards one can listen to. Raises SoundError."""
    return _names("get_input_names")


def _names(what: str) -> list[str]:
    mido = _mido()
    try:
        return list(dict.fromkeys(getattr(mido, what)()))
    except Exception as error:
        raise SoundError(f"MIDI ports cannot be listed ({error})", CURE) from error


def open_port(name: str) -> Port:
    """An output port by its name, its beginning or a part of it; the first instrument for none.

    Raises SoundError.
    """
    found: Port = _open(name, output_names(), "open_output")
    return found


def open_input(name: str, heard: Callable[[Any], None]) -> Any:
    """An input port whose messages go to `heard`, from a thread of its own. Raises SoundError."""
    return _open(name, input_names(), "open_input", callback=heard)


def _open(name: str, names: list[str], how: str, **options: Any) -> Any:
    wanted = name.lower()
    others = [each for each in names if not each.lower().startswith(THROUGH)]
    fits = [each for each in names if each.lower().startswith(wanted)] if name else others
    fits = fits or [each for each in names if name and wanted in each.lower()]
    if not fits:
        there = ", ".join(names) or "none"
        what = f"there is no MIDI port “{name}”" if name else "no MIDI instrument is plugged in"
        raise SoundError(what, f"ports there are: {there}")
    try:
        return getattr(_mido(), how)(fits[0], **options)
    except Exception as error:
        raise SoundError(f"the MIDI port {fits[0]} cannot be opened ({error})", CURE) from error


class PortOutput:
    """A MIDI port. A thread sends each message at its time, as steadily as the system lets it."""

    grid = 0.0
    by_soundfont = False

    def __init__(self, port: Port, clock: Callable[[], float] = time.monotonic) -> None:
        self._port = port
        self.name = f"MIDI: {port.name}"
        self._clock = clock
        self._start = clock()
        self._heap: list[tuple[float, int, Message]] = []
        self._count = 0
        self._down: set[tuple[int, int]] = set()
        self._wake = threading.Condition()
        self._open = True
        self._failure = ""
        self._thread = threading.Thread(target=self._serve, name="midi-port", daemon=True)
        self._thread.start()

    def now(self) -> float:
        return self._clock() - self._start

    def send(self, at: float, message: Message) -> None:
        if self._failure:
            raise SoundError(f"the MIDI port is gone ({self._failure})", GONE_CURE)
        with self._wake:
            self._count += 1
            heapq.heappush(self._heap, (at, self._count, message))
            self._wake.notify()

    def cancel(self, at: float) -> None:
        with self._wake:
            self._heap = [entry for entry in self._heap if entry[0] < at]
            heapq.heapify(self._heap)

    def set_voice(self, voice: Voice) -> None:
        """Choose the programs; what else there is to set is the instrument's own."""
        import mido

        for channel, program in ((PIANO, voice.program), (MELODY, voice.melody)):
            change = mido.Message("program_change", channel=channel, program=program)
            try:
                self._port.send(change)
            except Exception as error:  # a pulled cable fails as its backend likes
                raise SoundError(f"the MIDI port is gone ({error})", GONE_CURE) from error

    def close(self) -> None:
        """Drop what is to come, let every key go and the pedal up, give the port back."""
        with self._wake:
            self._open = False
            self._heap = [
                (0.0, number, Message(OFF, *key)) for number, key in enumerate(sorted(self._down))
            ]
            self._heap.append((0.0, len(self._heap), Message(CONTROL, PIANO, PEDAL)))
            self._wake.notify()
        self._thread.join(timeout=1)
        try:
            self._port.close()
        except Exception as error:  # noqa: BLE001 - closing a port that is gone may fail as it likes
            self._failure = str(error)

    def _serve(self) -> None:
        while True:
            with self._wake:
                while self._open and not self._heap:
                    self._wake.wait()
                if not self._heap:
                    return
                wait = self._heap[0][0] - self.now()
                if wait > 0:
                    self._wake.wait(wait)
                    continue
                message = heapq.heappop(self._heap)[2]
                key = (message.channel, message.number)
                if message.kind == ON:
                    self._down.add(key)
                elif message.kind == OFF:
                    self._down.discard(key)
            try:
                self._port.send(to_mido(message))
            except Exception as error:  # noqa: BLE001 - a pulled cable fails as its backend likes
                self._failure = str(error) or type(error).__name__
                return


def to_mido(message: Message) -> Any:
    """The message as one of mido's."""
    import mido

    if message.kind == CONTROL:
        return mido.Message(
            "control_change",
            channel=message.channel,
            control=message.number,
            value=message.value,
        )
    kind = "note_on" if message.kind == ON else "note_off"
    return mido.Message(kind, channel=message.channel, note=message.number, velocity=message.value)
