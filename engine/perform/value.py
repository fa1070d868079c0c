"""The values of a performance: notes, pedal and tempo as timed events.

Events stay in musical time (whole notes from the start) with a small offset in
milliseconds, because tempo may change while they play; `TempoMap` turns musical
time into seconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from engine.song import Hand


@dataclass(frozen=True, slots=True)
class Played:
    """A note as played: `onset` and `end` in whole notes, `late_ms` moves the attack.

    `hand` is None for a note of the melody, which no hand plays.
    """

    onset: Fraction
    end: Fraction
    midi: int
    velocity: int
    hand: Hand | None
    late_ms: float = 0.0

    @property
    def strand(self) -> str:
        """Who plays it: `left`, `right` or `melody`."""
        return "melody" if self.hand is None else self.hand.value


@dataclass(frozen=True, slots=True)
class PedalMove:
    """The sustain pedal (controller 64): `value` 127 down, 0 up; `late_ms` after the onset."""

    onset: Fraction
    value: int
    late_ms: float = 0.0


@dataclass(frozen=True, slots=True)
class TempoPoint:
    """From `onset` on, `quarters` quarter notes a minute."""

    onset: Fraction
    quarters: float


@dataclass(frozen=True, slots=True)
class Performance:
    """Everything that sounds, sorted by onset; `end` is its length in whole notes.

    Time 0 is where the performance begins; `start` is that place in the song
    (other than 0 where only some bars are performed). There is a tempo point at 0.
    `notes` are those of the hands, `melody` those of the melody, which has a sound of its own.
    """

    notes: tuple[Played, ...]
    pedal: tuple[PedalMove, ...]
    tempo: tuple[TempoPoint, ...]
    end: Fraction
    start: Fraction = Fraction(0)
    melody: tuple[Played, ...] = ()
