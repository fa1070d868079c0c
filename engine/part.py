"""The written music: the notes of both hands with what a player needs to know of them.

A note is one attack: `duration` is its whole written length, and `tied` says
that it is held over a bar line. Times are whole notes from the song's start.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from engine.pitch import Pitch
from engine.song import Hand


class Role(StrEnum):
    """What a note is to the harmony it sounds in."""

    CHORD = "chord"
    BASS = "bass"
    DOUBLING = "doubling"
    NEIGHBOUR = "neighbour"
    PASSING = "passing"
    SUSPENSION = "suspension"
    ANTICIPATION = "anticipation"
    ADDED = "added"

    @property
    def outside(self) -> bool:
        """Whether the note need not belong to the chord it sounds in."""
        return self not in (Role.CHORD, Role.BASS, Role.DOUBLING)


@dataclass(frozen=True, slots=True)
class PartNote:
    """One attack. `velocity` is 1–127 as written (dynamics and accents), `finger` 1–5 or None.

    `bar` counts from 1 and is where the attack falls; `why` names, for a note
    that is no plain chord member, what it does, in a few words. What is struck
    together and `rolled` is played from the lowest note up, one after another.
    """

    bar: int
    hand: Hand
    pitch: Pitch
    onset: Fraction
    duration: Fraction
    role: Role
    velocity: int = 70
    tied: bool = False
    finger: int | None = None
    why: str = ""
    rolled: bool = False

    @property
    def end(self) -> Fraction:
        return self.onset + self.duration

    def played(self, finger: int, velocity: int) -> PartNote:
        """The note with a finger and a velocity: `replace`, three times as fast."""
        return PartNote(
            self.bar, self.hand, self.pitch, self.onset, self.duration, self.role,
            velocity, self.tied, finger, self.why, self.rolled,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class PedalMark:
    """The sustain pedal goes down or up."""

    onset: Fraction
    down: bool


@dataclass(frozen=True, slots=True)
class Dynamic:
    """A dynamic mark (`p`, `mf`), or a hairpin that begins (`<`, `>`) and ends (`end`)."""

    onset: Fraction
    mark: str


@dataclass(frozen=True, slots=True)
class Token:
    """A figure token where it fell: what the lane writes under the notes."""

    bar: int
    hand: Hand
    onset: Fraction
    duration: Fraction
    text: str


@dataclass(frozen=True, slots=True)
class Shape:
    """The right hand's shape while one harmony lasts: pitches low to high."""

    bar: int
    onset: Fraction
    duration: Fraction
    pitches: tuple[Pitch, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """A rule that does not hold at a bar; `waived` has the writer's reason, if any."""

    bar: int
    rule: str
    text: str
    waived: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """The whole part. Notes are sorted by onset, then hand (left first), then pitch.

    `heights` gives each bar's place on the arc, 0 calm to 1 peak; `closing` are the bars, from 1,
    whose written figures give way to the song's close.
    """

    notes: tuple[PartNote, ...]
    pedal: tuple[PedalMark, ...]
    dynamics: tuple[Dynamic, ...]
    tokens: tuple[Token, ...]
    shapes: tuple[Shape, ...]
    heights: tuple[float, ...] = ()
    findings: tuple[Finding, ...] = ()
    closing: tuple[int, ...] = ()
