"""What the drawing functions are given: the work, what follows from it, and where it sounds now."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.song import Bar, Slot, SlotKind, Song
from engine.workshop import Entry, Pane, Stages, Work


@dataclass(frozen=True, slots=True)
class Sounding:
    """Where the music is: a bar (from 1), the place in it in whole notes, and the slot there.

    While it is counted in, `beats_left` clicks are still to come; `turn` counts a loop's passes.
    """

    bar: int
    at: Fraction
    slot: int
    beats_left: int = 0
    turn: int = 0


@dataclass(frozen=True, slots=True)
class View:
    """Everything one picture of the screen is made from.

    `glow` are bars that have just changed; `stages` may be those of the song a
    moment ago while new ones are being made.
    """

    work: Work
    stages: Stages
    sounding: Sounding | None = None
    glow: frozenset[int] = frozenset()
    sound: str = ""  # one line of what sounds, or why nothing does
    clean: Mapping[int, str] = field(default_factory=dict)  # bar number to its clean tempo
    today: Callable[[], str] = str  # how long was played today, in a few words

    @property
    def bar(self) -> Bar:
        """The bar under the cursor, in the song that is shown."""
        bars = self.work.shown.bars
        return bars[min(self.work.cursor.bar, len(bars)) - 1]

    @property
    def reading(self) -> ChordReading | None:
        """The reading of the chord under the cursor, if one stands there."""
        return self.reading_at(self.bar.number, self.work.cursor.slot)

    def reading_at(self, bar: int, slot: int) -> ChordReading | None:
        """The reading of a slot, None while the stages are those of another chord."""
        bars = self.work.shown.bars
        if self.stages.reading is None or bar > len(bars):
            return None
        slots = bars[bar - 1].slots
        if slot >= len(slots):
            return None
        found = self.stages.reading.at(bar, slot)
        return found if found and found.chord == slots[slot].chord else None

    def reading_after(self, reading: ChordReading) -> ChordReading | None:
        """The reading of the next chord of the song."""
        return self.stages.reading.after(reading) if self.stages.reading else None

    def new_key(self, reading: ChordReading) -> Key | None:
        """The key that a chord is read in, if it is another than that of the chord before."""
        before = self.stages.reading.before(reading) if self.stages.reading else None
        return reading.key if before is not None and before.key != reading.key else None

    def entry_in(self, pane: Pane) -> Entry | None:
        """The line being typed, if it belongs in a pane."""
        entry = self.work.entry
        return entry if entry and self.work.pane is pane else None


if TYPE_CHECKING:
    from engine.harmony import ChordReading
    from engine.key import Key

_SIGNS = re.compile(
    r"\b[A-G](bb?|##?)(?=(?:maj|min|m|dim|aug|sus|add|alt)(?![a-z])|[^a-z]|$)"
    r"|(?<![A-Za-z])[b#](?=[IViv1-9])"
)


def signed(text: str) -> str:
    """Text with ♯ and ♭ where note names, numerals and degrees have # and b."""

    def sign(match: re.Match[str]) -> str:
        return match[0].replace("#", "♯").replace("b", "♭")

    return _SIGNS.sub(sign, text)


def slot_text(slot: Slot) -> str:
    """What stands in a slot, with ♯ and ♭."""
    if slot.kind is SlotKind.OPEN:
        return "?"
    return slot.chord.pretty if slot.chord is not None else "N.C."


def sounding(song: Song, at: Fraction, beats_left: int = 0, turn: int = 0) -> Sounding:
    """Where a time of the song is."""
    bar = song.bar_at(at)
    inside = min(max(at - bar.start, Fraction(0)), bar.meter.bar)
    return Sounding(bar.number, inside, bar.slots.index(bar.slot_at(inside)), beats_left, turn)
