"""A song as a value: what the writer wrote, sections with their charts, and the bars that follow.

The chart text of a section is kept as it was typed; bars are read from it, so
that an edit is a splice of the text and nothing else of it moves.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction

from engine.chord import Chord
from engine.key import Key
from engine.meter import Meter

_FIRST = Fraction(1)


class Hand(StrEnum):
    LEFT = "left"
    RIGHT = "right"


class SlotKind(StrEnum):
    """What stands in a place of a bar."""

    CHORD = "chord"
    NONE = "none"  # N.C.: nothing sounds
    OPEN = "open"  # ?: to be suggested


@dataclass(frozen=True, slots=True)
class Slot:
    """One harmony of a bar: `onset` and `duration` in whole notes, onset from the bar's start.

    `span` is the (start, end) of its symbol in the section's chart text; a bar
    written `%` has the span of the `%`. `typed` is the symbol as written.
    """

    onset: Fraction
    duration: Fraction
    kind: SlotKind
    chord: Chord | None
    typed: str
    span: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Settings:
    """What may be set at the top, in a section or in a bar; None where nothing is written.

    `right` and `left` are figure tokens or catalogue names, `arc` dynamics
    such as `p < mf > p`; `register` is where the right hand lies (low, middle or
    high); the four amounts are 0 to 1; tempo in beats a minute.
    """

    key: Key | None = None
    meter: Meter | None = None
    tempo: float | None = None
    right: str | None = None
    left: str | None = None
    arc: str | None = None
    register: str | None = None
    busy: float | None = None
    outside: float | None = None
    doubling: float | None = None
    anticipation: float | None = None

    def over(self, wider: Settings) -> Settings:
        """These settings, with what is missing taken from wider ones."""
        written = {name: getattr(self, name) for name in Settings.__slots__}
        own = {name: value for name, value in written.items() if value is not None}
        return replace(wider, **own)


@dataclass(frozen=True, slots=True)
class BarSettings:
    """What is written for one bar beside its chords."""

    settings: Settings = Settings()
    shape: str | None = None  # a pinned shape: pitches low to high, or an inversion or top note
    keep: tuple[str, ...] | None = None  # a kept bar's figures, opaque to this module
    waive: tuple[tuple[str, str], ...] = ()  # (rule, reason)


@dataclass(frozen=True, slots=True)
class Section:
    """A named stretch of the chart. `bar_settings` is keyed by the bar's number in the section."""

    name: str
    chart: str
    settings: Settings = Settings()
    bar_settings: tuple[tuple[int, BarSettings], ...] = ()
    take: int | None = None
    melody: str | None = None
    peak: int | None = None  # bar of the section where the arc peaks


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar with everything that holds in it.

    `number` counts from 1 through the song, `in_section` from 1 in its section;
    `start` is in whole notes from the song's beginning. `settings` has no None
    but figures, arc and register; `span` is the bar's place in the section's chart text,
    without its bar lines.
    """

    number: int
    section: int
    in_section: int
    start: Fraction
    key: Key
    meter: Meter
    tempo: float
    slots: tuple[Slot, ...]
    settings: Settings
    own: BarSettings
    span: tuple[int, int]
    repeats: bool = False  # written %

    @property
    def end(self) -> Fraction:
        return self.start + self.meter.bar

    def slot_at(self, at: Fraction) -> Slot:
        """The slot that sounds at a place of the bar, in whole notes from its start."""
        found = self.slots[0]
        for slot in self.slots:
            if slot.onset <= at:
                found = slot
        return found

    def beat_of(self, at: Fraction) -> Fraction:
        """A place in the bar as a beat, counted from 1 in the meter's own beat."""
        return at / self.meter.beat + 1 if at else _FIRST


@dataclass(frozen=True, slots=True)
class Song:
    """A whole song. `settings` are those at the top (key, meter and tempo always there).

    `bars` follows from the rest and is made by `engine.song.build`.
    """

    title: str
    settings: Settings
    sections: tuple[Section, ...]
    bars: tuple[Bar, ...] = field(hash=False)  # what they follow from tells songs apart
    reach: int = 12  # semitones one hand can strike together
    take: int = 1
    composer: str = ""
    rights: str = ""
    file: str = field(default="", compare=False)

    @property
    def end(self) -> Fraction:
        """Length in whole notes."""
        return self.bars[-1].end if self.bars else Fraction(0)

    @property
    def key(self) -> Key:
        assert self.settings.key is not None
        return self.settings.key

    @property
    def meter(self) -> Meter:
        assert self.settings.meter is not None
        return self.settings.meter

    @property
    def tempo(self) -> float:
        assert self.settings.tempo is not None
        return self.settings.tempo

    def bar_at(self, onset: Fraction) -> Bar:
        """The bar that holds a time in whole notes (the last bar for later times)."""
        low, high = 0, len(self.bars) - 1
        while low < high:
            middle = (low + high + 1) // 2
            if self.bars[middle].start <= onset:
                low = middle
            else:
                high = middle - 1
        return self.bars[low]
