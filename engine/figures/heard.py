"""What a bar sounded like: notes by time and pitch, the harmonies under them, their common grid."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from engine.errors import FigureError, InputError, Place
from engine.figures.fit import fit
from engine.figures.value import MOST_SLOTS, Figure, FigureSlot
from engine.hands import Tones
from engine.meter import Meter
from engine.part import PartNote
from engine.pitch import Pitch
from engine.song import Bar, Hand

_LOWEST, _HIGHEST = 21, 108  # the piano's A0 and C8


@dataclass(frozen=True, slots=True)
class Heard:
    """A note as heard: `onset`, in a bar from its start, and `duration` in whole notes."""

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


def typed_notes(text: str, meter: Meter) -> tuple[Heard, ...]:
    """A bar's notes from a line of equal steps: `C4 E4+G4 . x`.

    `+` joins notes struck together, `.` holds what sounds, `x` is a rest. Raises
    FigureError with the span of a word that is no note.
    """
    words = [(word[0], word.start()) for word in re.finditer(r"\S+", text)]
    if not words or len(words) > MOST_SLOTS:
        raise FigureError(
            "no notes are written here" if not words else f"{len(words)} steps are too many",
            f"write from 1 to {MOST_SLOTS} notes, like “C4 E4 G4 E4”",
            Place(1, max(1, len(text)), text=text),
        )
    step = meter.bar / len(words)
    found: list[Heard] = []
    sounding: list[Heard] = []
    for index, (word, at) in enumerate(words):
        end = (index + 1) * step
        if word == ".":
            found = [replace(note, duration=end - note.onset) if note in sounding else note
                     for note in found]  # fmt: skip
            sounding = found[len(found) - len(sounding) :]
            continue
        sounding = [] if word == "x" else _struck(word, at, text, (index * step, step))
        found += sounding
    return tuple(found)


def _struck(word: str, at: int, text: str, when: tuple[Fraction, Fraction]) -> list[Heard]:
    """The notes of one word, which begins at a place of the text."""
    found = []
    for name in word.split("+"):
        try:
            key = Pitch.parse(name[:1].upper() + name[1:]).midi
        except InputError:
            key = 0
        if not _LOWEST <= key <= _HIGHEST:
            raise FigureError(
                f"“{name}” is no note of the piano",
                "write notes like C4 or Eb3 (middle C is C4), . for a hold, x for a rest",
                Place(at + 1, max(1, len(name)), text=text),
            )
        found.append(Heard(*when, key))
        at += len(name) + 1
    return found


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
