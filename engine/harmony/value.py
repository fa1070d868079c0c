"""What the reader says of chords: readings, keys found, regions of keys."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from engine.chord import Chord
from engine.harmony.numeral import display_numeral
from engine.key import Key
from engine.pitch import Note


class Function(StrEnum):
    """What a chord does in its key."""

    TONIC = "tonic"
    PREDOMINANT = "predominant"
    DOMINANT = "dominant"
    PASSING = "passing"  # links two chords and has no function of its own
    NONE = "none"  # nothing sounds


class Category(StrEnum):
    """Why a chord may stand in its key."""

    DIATONIC = "diatonic"  # made of the key's notes (in minor of all three scales)
    APPLIED = "applied"  # dominant, leading-tone chord or predominant of another degree
    BORROWED = "borrowed"  # from the parallel key, or the mode of a pop or folk song
    NEAPOLITAN = "neapolitan"  # the major triad on the lowered second degree
    AUGMENTED_SIXTH = "augmented sixth"  # its augmented sixth opens to the octave
    SUBSTITUTE = "substitute"  # a dominant a tritone away from the one it stands for
    BACKDOOR = "backdoor"  # the dominant seventh on the lowered seventh degree, going to I
    COMMON_TONE = "common-tone"  # a diminished seventh that keeps the root of the next chord
    PASSING = "passing"  # a chord that fills a step between two others
    CADENTIAL = "cadential"  # the six-four before the dominant of a cadence
    PEDAL = "pedal"  # over a bass that stays
    SUSPENDED = "suspended"  # third put off by a fourth or second
    BLUES = "blues"  # a dominant seventh at rest on I or IV
    MEDIANT = "mediant"  # a third away, with chromatic notes
    CHROMATIC = "chromatic"  # none of these


@dataclass(frozen=True, slots=True)
class Move:
    """One note of a chord and where it goes in the next (`to` None where it ends)."""

    note: Note
    to: Note | None
    semitones: int


@dataclass(frozen=True, slots=True)
class ChordReading:
    """One chord read in its place.

    `bar` counts from 1, `slot` from 0 in its bar, `beat` from 1 in the meter's
    beat. `roman` is ASCII but for `°` and `ø`, relative to `key`. `notes` are
    spelled for this place, from the bass up; `outside` are those not in the
    key's scale. `scale` runs from the root. `tensions` may be added, `rubs`
    are notes of the scale that rub against the chord. `resolves_to` says where
    the chord wants to go (empty if it is at rest) and `resolves` whether it
    does (None where nothing follows or nothing is wanted).
    """

    chord: Chord
    key: Key
    roman: str
    function: Function
    category: Category
    notes: tuple[Note, ...]
    bar: int = 1
    slot: int = 0
    beat: Fraction = Fraction(1)
    outside: tuple[Note, ...] = ()
    scale: tuple[Note, ...] = ()
    tensions: tuple[Note, ...] = ()
    rubs: tuple[Note, ...] = ()
    target: Note | None = None
    resolves_to: str = ""
    resolves: bool | None = None
    also: tuple[str, ...] = ()
    better_spelling: str = ""
    before: Chord | None = None
    after: Chord | None = None
    explanation: str = ""

    @property
    def roman_pretty(self) -> str:
        """The numeral for people, with ♯ and ♭."""
        return display_numeral(self.roman)


@dataclass(frozen=True, slots=True)
class Region:
    """Bars `first` to `last` (counted from 1) are in `key`; `how` names the way into it."""

    first: int
    last: int
    key: Key
    how: str = ""
    confidence: float = 1.0


@dataclass(frozen=True, slots=True)
class KeyFinding:
    """The key of a whole song from its chords; `others` are rivals with their confidence."""

    key: Key
    confidence: float
    others: tuple[tuple[Key, float], ...] = ()
    regions: tuple[Region, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """All chords of a song read in context, and the regions of its keys."""

    chords: tuple[ChordReading, ...]
    regions: tuple[Region, ...] = ()
    _index: dict[tuple[int, int], ChordReading] = field(
        default_factory=dict, compare=False, repr=False
    )

    def at(self, bar: int, slot: int) -> ChordReading | None:
        """The reading of a bar's slot, or None where no chord stands."""
        if len(self._index) != len(self.chords):
            self._index.update({(item.bar, item.slot): item for item in self.chords})
        return self._index.get((bar, slot))


