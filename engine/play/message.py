"""What goes to an output: a MIDI message at a time."""

from __future__ import annotations

from dataclasses import dataclass

PIANO = 0
MELODY = 1
CLICKS = 9  # General MIDI's percussion channel
PEDAL = 64  # controller number, Standard MIDI

ON = "on"
OFF = "off"
CONTROL = "control"


@dataclass(frozen=True, slots=True)
class Message:
    """A key struck (`on`) or let go (`off`), or a controller: `number` is the key or controller."""

    kind: str
    channel: int
    number: int
    value: int = 0


@dataclass(frozen=True, slots=True)
class Send:
    """A command: let the message sound at `at`, in seconds of the output's own clock."""

    at: float
    message: Message


@dataclass(frozen=True, slots=True)
class Cancel:
    """A command: take back everything that was to sound at `at` or later."""

    at: float


Command = Send | Cancel
