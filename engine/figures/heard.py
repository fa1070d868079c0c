"""What a bar sounded like: notes by time and pitch, the harmonies under them, their common grid."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from engine.figures.fit import fit
from engine.figures.value import MOST_SLOTS, Figure, FigureSlot
from engine.hands import Tones
from engine.meter import Meter
from engine.part import PartNote
from engine.song import Bar, Hand


@dataclass(frozen=True, slots=True)
class Heard:
    """A note as heard in a bar: `onset` from the bar's start and `duration` in whole notes."""

    onset: Fraction
    duration: Fraction
    midi: int

    @property
    def end(self) -> Fraction:
        return self.onset + self.duration


@dataclass(frozen=True, slots=True)
class Sounding:
    """A harmony of the bar: `onset` from the bar's start and `duration` in whole notes.

    `tones` is None where no chord stands; what is played there stays unsaid.
    """

    onset: Fraction
    duration: Fraction
    tones: Tones | None


def heard_in(notes: Iterable[PartNote], bar: Bar, hand: Hand) -> tuple[Heard, ...]:
    """What a hand strikes in a bar of a part."""
    return tuple(
        Heard(note.onset - bar.start, note.duration, note.pitch.midi)
        for note in notes
        if note.bar == bar.number and note.hand is hand
    )


def slots_for(notes: Sequence[Heard], meter: Meter, harmonies: Sequence[Sounding]) -> int:
    """How many equal slots of the bar hold all attacks, and all ends where that is possible."""
    hard = {note.onset / meter.bar for note in notes}
    hard |= {harmony.onset / meter.bar for harmony in harmonies}
    soft = {min(note.end, meter.bar) / meter.bar for note in notes}
    for places in (hard | soft, hard):
        for slots in range(1, MOST_SLOTS + 1):
            if all((place * slots).denominator == 1 for place in places):
                row = tuple(FigureSlot(("1",)) for _ in range(slots))
                if fit(Figure(Hand.RIGHT, row), meter).slots == row:
                    return slots
    return MOST_SLOTS
