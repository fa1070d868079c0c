"""A laid-out score as a value: parts, measures, staves, voices and what is written at each place.

It knows nothing of files or pages; MusicXML and the sheets are written from it.
Onsets are in whole notes from the measure's start.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from engine.chord import Chord
from engine.exchange.rhythm import Written
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Pitch

#: Height of a five-line staff on paper, in millimetres.
STAFF_MM = 7.2


@dataclass(frozen=True, slots=True)
class Accidental:
    """A printed sign: `alter` in semitones, `courtesy` where the rule would not ask for it."""

    alter: int
    courtesy: bool = False


@dataclass(frozen=True, slots=True)
class Head:
    """One note head; `tie_in` and `tie_out` join it to the head before and after.

    A `slash` stands for a beat of the chord above it, not for a pitch; `rolled`
    heads have the arpeggio sign before them.
    """

    pitch: Pitch
    tie_in: bool = False
    tie_out: bool = False
    accidental: Accidental | None = None
    finger: int | None = None
    velocity: int | None = None
    slash: bool = False
    rolled: bool = False


@dataclass(frozen=True, slots=True)
class Lyric:
    """What is sung on a note in a `verse` counted from 1, its `syllabic` as MusicXML's words.

    `extend` is `start` where a word's last syllable is held on other notes, and `continue`
    or, on the last of them, `stop` on these, which have no text.
    """

    verse: int
    text: str
    syllabic: str
    extend: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """A chord, a single note, or (without heads) a rest; `hidden` rests only keep the place.

    `beams` holds one word a level, as MusicXML writes them: begin, continue,
    end, forward hook, backward hook.
    """

    written: Written
    heads: tuple[Head, ...] = ()
    beams: tuple[str, ...] = ()
    opens_tuplet: bool = False
    closes_tuplet: bool = False
    hidden: bool = False
    lyrics: tuple[Lyric, ...] = ()

    @property
    def is_rest(self) -> bool:
        return not self.heads


@dataclass(frozen=True, slots=True)
class Voice:
    """Entries that fill the measure; `number` counts from 1 in the staff, the upper first."""

    number: int
    entries: tuple[Entry, ...]


class MarkKind(StrEnum):
    """What a mark is."""

    DYNAMIC = "dynamic"
    HAIRPIN = "hairpin"  # text `<`, `>` or `end`
    PEDAL = "pedal"  # text `down`, `up` or `change`
    WORDS = "words"


@dataclass(frozen=True, slots=True)
class Mark:
    """Something written at a place of a staff."""

    onset: Fraction
    kind: MarkKind
    text: str


@dataclass(frozen=True, slots=True)
class Symbol:
    """A chord symbol over the staff; `chord` None means that no chord sounds, or an open place.

    `text` is what was written.
    """

    onset: Fraction
    chord: Chord | None
    text: str = ""


@dataclass(frozen=True, slots=True)
class Numeral:
    """A Roman numeral under the staff, after its key's `tonic` where that is new."""

    onset: Fraction
    text: str
    tonic: str = ""

    @property
    def printed(self) -> str:
        return f"{self.tonic}: {self.text}" if self.tonic else self.text


@dataclass(frozen=True, slots=True)
class Staff:
    voices: tuple[Voice, ...]
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of one part. `number` is the song's bar.

    `shows_key` and `shows_meter` are set where they are new; `tempo` (beats a
    minute in the meter's beat) is None where it goes on; `letter` and `section`
    stand where a section begins, and `new_line` asks for a new system.

    A repeat opens before the measure and closes after it, `repeat_closes`
    saying how often all is played; `ending` names the times (`1`, `2, 3`) that
    the measure is played in, which opens and closes at its ends.
    """

    number: int
    key: Key
    meter: Meter
    staves: tuple[Staff, ...]
    shows_key: bool = False
    shows_meter: bool = False
    tempo: float | None = None
    letter: str = ""
    section: str = ""
    new_line: bool = False
    symbols: tuple[Symbol, ...] = ()
    numerals: tuple[Numeral, ...] = ()
    repeat_opens: bool = False
    repeat_closes: int = 0
    ending: str = ""
    ending_opens: bool = False
    ending_closes: bool = False


@dataclass(frozen=True, slots=True)
class ScorePart:
    """A player: `clefs` from the top staff down, each a sign and a line (`G2`, `F4`).

    `ends` says that the last measure is the end of the music, not of an excerpt.
    """

    name: str
    short: str
    clefs: tuple[str, ...]
    measures: tuple[Measure, ...]
    program: int = 1
    ends: bool = True


@dataclass(frozen=True, slots=True)
class Score:
    """A whole score. `zoom` is the size of its staves, 1 for `STAFF_MM`."""

    title: str
    composer: str
    rights: str
    parts: tuple[ScorePart, ...]
    zoom: float = 1.0
