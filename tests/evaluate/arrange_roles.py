"""What each note is, from the written notes and the chart's chords alone.

Nothing here looks at a note's label or at the search: a hand's strokes before and after a note,
and the chords there, say what an outside note may be called. The definitions are those of common
practice (Open Music Theory): a neighbour steps out of a chord note and back, a passing note goes on
the same way, a suspension is struck before, stays while the chord changes and falls by step, an
anticipation belongs to the chord that follows and is held into it, an added sixth or ninth stands
above the root (in the left hand the second above the bass) and goes on by step.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from engine.part import Part, PartNote, Role
from engine.song import Hand, Song

#: Names in the order in which a note takes them, where it might have two.
ORDER = (Role.SUSPENSION, Role.ANTICIPATION, Role.NEIGHBOUR, Role.PASSING, Role.ADDED)
#: A fill of passing notes has no more of them than this.
LONGEST_FILL = 3


@dataclass(frozen=True, slots=True)
class Sounding:
    """A chord of the chart: its times in whole notes, pitch classes, root and bass (0–11)."""

    start: Fraction
    end: Fraction
    pcs: frozenset[int]
    root: int
    bass: int


def soundings(song: Song) -> list[Sounding]:
    """The chart's chords in order."""
    return [
        Sounding(
            bar.start + slot.onset,
            bar.start + slot.onset + slot.duration,
            slot.chord.pitch_classes,
            slot.chord.root.pc,
            slot.chord.bass_note.pc,
        )
        for bar in song.bars
        for slot in bar.slots
        if slot.chord is not None
    ]


class Line:
    """One hand's strokes in time, with the chords under them."""

    def __init__(self, song: Song, part: Part, hand: Hand) -> None:
        rows: dict[Fraction, list[PartNote]] = {}
        for note in part.notes:
            if note.hand is hand:
                rows.setdefault(note.onset, []).append(note)
        self.hand = hand
        self.onsets = sorted(rows)
        self.rows = [rows[onset] for onset in self.onsets]
        self.chords = soundings(song)
        self._starts = [chord.start for chord in self.chords]

    def chord(self, onset: Fraction) -> Sounding | None:
        at = bisect_right(self._starts, onset) - 1
        found = self.chords[at] if at >= 0 else None
        return found if found is not None and onset < found.end else None

    def following(self, chord: Sounding) -> Sounding | None:
        """The next chord, where it begins as this one ends."""
        at = bisect_right(self._starts, chord.start)
        found = self.chords[at] if at < len(self.chords) else None
        return found if found is not None and found.start == chord.end else None

    def inside(self, at: int, midi: int) -> bool:
        """Whether a pitch of a stroke belongs to the chord it is struck in."""
        chord = self.chord(self.onsets[at])
        return chord is not None and midi % 12 in chord.pcs

    def near(self, at: int) -> list[int]:
        """The pitches of a stroke, none beyond the line's ends."""
        return [n.pitch.midi for n in self.rows[at]] if 0 <= at < len(self.rows) else []

    def names(self, at: int, note: PartNote) -> set[Role]:
        """What an outside note of a stroke may be called."""
        chord = self.chord(note.onset)
        if chord is None:
            return set()
        found = set()
        here, before, after = note.pitch.midi, self.near(at - 1), self.near(at + 1)
        last = [a for a in before if self._rests(at - 1, a, -1)]
        then = [b for b in after if self._rests(at + 1, b, 1)]
        if (
            note.onset == chord.start
            and here in before
            and self.inside(at - 1, here)
            and any(1 <= here - b <= 2 and b % 12 in chord.pcs for b in after)
        ):
            found.add(Role.SUSPENSION)
        comes = self.following(chord)
        if comes is not None and here % 12 in comes.pcs and note.end > comes.start:
            found.add(Role.ANTICIPATION)
        if any(1 <= abs(a - here) <= 2 and a in then for a in last):
            found.add(Role.NEIGHBOUR)
        if any(
            1 <= (here - a) * way <= 2 and 1 <= (b - here) * way <= 2
            for a in last
            for b in then
            for way in (1, -1)
        ):
            found.add(Role.PASSING)
        if self.hand is Hand.LEFT:
            lone = len(chord.pcs) == 1  # a root alone takes its fifth
            added = (here - chord.bass) % 12 in ((7,) if lone else (1, 2))
        else:
            added = (here - chord.root) % 12 in (1, 2, 5, 8, 9) and any(
                1 <= abs(here - b) <= 2 for b in then
            )
        if added:
            found.add(Role.ADDED)
        return found

    def _rests(self, at: int, midi: int, way: int) -> bool:
        """Whether a neighbouring pitch is a chord note, or leads to one within a fill."""
        for _ in range(LONGEST_FILL):
            if self.inside(at, midi):
                return True
            at += way
            steps = [pitch for pitch in self.near(at) if 1 <= abs(pitch - midi) <= 2]
            if not steps:
                return False
            midi = steps[0]
        return False


def named(song: Song, part: Part) -> tuple[Counter[str], Counter[str]]:
    """Faults by kind, and (label, name found here) of every note whose name is another one.

    Faults: a note of the chord that is labelled outside, one outside that is labelled
    inside, and a label that is none of the names the note may have.
    """
    faults: Counter[str] = Counter()
    others: Counter[str] = Counter()
    for hand in Hand:
        line = Line(song, part, hand)
        for at, row in enumerate(line.rows):
            for note in row:
                inside = line.inside(at, note.pitch.midi)
                if inside or not note.role.outside:
                    faults["in the chord, labelled outside"] += inside and note.role.outside
                    faults["outside, labelled inside"] += not inside and not note.role.outside
                    continue
                names = line.names(at, note)
                found = next((role for role in ORDER if role in names), None)
                if note.role not in names:
                    faults[f"{note.role.value} that is {found.value if found else 'nothing'}"] += 1
                elif found is not None and found is not note.role:
                    others[f"{note.role.value}, also {found.value}"] += 1
    return +faults, +others
