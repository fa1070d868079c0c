"""What a note text of ABC 2.1 holds, each thing with its time and place."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from engine.errors import Place
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Pitch
from engine.song.syllables import Words


@dataclass(frozen=True, slots=True)
class AbcNote:
    """A note, or several struck together; `duration` is 0 for none. Times in whole notes.

    `words` are what is sung on it, a syllable a verse.
    """

    onset: Fraction
    duration: Fraction
    pitches: tuple[Pitch, ...]
    tied: bool = False  # held into the next note
    words: Words = ()


@dataclass(frozen=True, slots=True)
class AbcHead:
    """A note as typed: the place of its accidental, letter and octave marks, and its pitch."""

    pitch: Pitch
    place: Place
    signed: bool  # whether an accidental is typed


@dataclass(frozen=True, slots=True)
class AbcSymbol:
    """The text of a chord symbol over the notes."""

    onset: Fraction
    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class AbcBar:
    """A bar line: its time, what was typed (`|`, `|:`, `:|2` …) and where."""

    onset: Fraction
    text: str
    place: Place


@dataclass(frozen=True, slots=True)
class AbcMusic:
    """What a note text holds, in order.

    `left` names what was read over; `unsung` are the places of the syllables
    for which a line has no note, the first of each line.
    """

    notes: tuple[AbcNote, ...]
    symbols: tuple[AbcSymbol, ...]
    bars: tuple[AbcBar, ...]
    changes: tuple[tuple[Fraction, Key | Meter], ...]
    end: Fraction
    left: tuple[str, ...] = ()
    heads: tuple[AbcHead, ...] = ()
    unsung: tuple[Place, ...] = ()
