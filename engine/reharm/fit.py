"""How a chord fits the melody over it: chord tones, tensions, rubs, held and prepared notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from engine.chord import Chord
from engine.pitch import Note
from engine.song.melody import MelodyNote


class Hold(StrEnum):
    """What a melody note is over a chord."""

    CHORD_TONE = "chord tone"
    TENSION = "tension"  # no member, and a whole step at least from every member
    RUB = "rub"  # a semitone from a member


@dataclass(frozen=True, slots=True)
class Fit:
    """One melody note over one chord; `length` is how long it sounds there, in whole notes.

    `against` is the member it rubs with. `held` says that it is long enough
    to be heard as a harmony, `prepared` that it lies over from the chord
    before, where it belonged, and falls by step afterwards.
    """

    note: MelodyNote
    hold: Hold
    length: Fraction
    held: bool
    prepared: bool = False
    against: Note | None = None

    @property
    def bad(self) -> bool:
        """Whether no suggestion may do this: an unprepared semitone against a held note."""
        return self.hold is Hold.RUB and self.held and not self.prepared


def hold_of(note: Note, chord: Chord) -> tuple[Hold, Note | None]:
    """What a melody note is over a chord, and the member it rubs with.

    A member of the chord rubs only with another member a semitone below it (the
    root over a major seventh: a minor ninth in sound); any other note rubs with
    a member a semitone away on either side.
    """
    members = {each.pc: each for each in chord.notes}
    below = members.get((note.pc - 1) % 12)
    if note.pc in members:
        return (Hold.RUB, below) if below is not None else (Hold.CHORD_TONE, None)
    near = below if below is not None else members.get((note.pc + 1) % 12)
    return (Hold.TENSION, None) if near is None else (Hold.RUB, near)


def fits(
    chord: Chord,
    melody: Sequence[MelodyNote],
    start: Fraction,
    end: Fraction,
    *,
    beat: Fraction,
    before: Chord | None = None,
) -> tuple[Fit, ...]:
    """Each melody note that sounds while the chord does, from `start` to `end`.

    A note is held that lasts a beat (over a change of chord too) or half of the chord's time.
    """
    found = []
    for at, note in enumerate(melody):
        if note.onset >= end or note.end <= start:
            continue
        hold, against = hold_of(note.pitch.note, chord)
        length = min(note.end, end) - max(note.onset, start)
        held = note.duration >= beat or length * 2 >= end - start
        after = melody[at + 1] if at + 1 < len(melody) else None
        prepared = (
            hold is Hold.RUB
            and note.onset < start
            and before is not None
            and hold_of(note.pitch.note, before)[0] is Hold.CHORD_TONE
            and after is not None
            and note.pitch.midi - after.pitch.midi in (1, 2)
        )
        found.append(Fit(note, hold, length, held, prepared, against))
    return tuple(found)


_WORTH = {Hold.CHORD_TONE: 1.0, Hold.TENSION: 0.25, Hold.RUB: -1.5}


def fit_score(found: Sequence[Fit]) -> float:
    """From −1.5 (all rubs) to 1 (all chord tones), weighed by length; 0 without a melody."""
    total = sum((fit.length for fit in found), Fraction(0))
    if not total:
        return 0.0
    return sum(_WORTH[fit.hold] * float(fit.length / total) for fit in found)
