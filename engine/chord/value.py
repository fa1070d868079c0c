"""A chord as a value: a root, its members by degree, and a bass.

Two symbols that mean the same notes by degree are the same value, so the
canonical symbol, the kind and the notes are all derived.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from operator import itemgetter
from typing import NamedTuple

from engine.chord.kinds import Kind, best_kind
from engine.pitch import Interval, Note

_DEGREE_SEMITONES = (0, 2, 4, 5, 7, 9, 11)


class Member(NamedTuple):
    """A chord member: degree of the major scale on the root (1–13) and its alteration."""

    degree: int
    alter: int = 0

    @property
    def interval(self) -> Interval:
        """Above the root; ninths and beyond are compound."""
        return _interval(self.degree, self.alter)

    @property
    def name(self) -> str:
        """`b3`, `#11`, `5`."""
        return ("#" * self.alter if self.alter > 0 else "b" * -self.alter) + str(self.degree)


@dataclass(frozen=True, slots=True)
class Chord:
    """`members` are sorted by degree and always hold the root's own degree 1.

    `bass` is the named bass after a slash, else None (the root is the bass).
    """

    root: Note
    members: tuple[Member, ...]
    bass: Note | None = None

    @property
    def kind(self) -> Kind:
        """The nearest kind of the table."""
        return _named(self.members)[0]

    @property
    def symbol(self) -> str:
        """The canonical symbol in ASCII: `Bbmaj7/D`, `C7(b9,#11)`."""
        slash = f"/{self.bass.name}" if self.bass is not None else ""
        return self.root.name + self._after_root + slash

    @property
    def suffix(self) -> str:
        """What the canonical symbol writes between root and slash."""
        kind, changes = _named(self.members)
        return kind.suffix + changes

    @property
    def _after_root(self) -> str:
        """The suffix; "Bbb5" would be B flat with a flat fifth, so that is "Bbb(no3)"."""
        suffix = self.suffix
        flat = self.root.name.endswith("bb") and suffix.startswith("5")
        return f"(no3){suffix[1:]}" if flat else suffix

    @property
    def pretty(self) -> str:
        """The canonical symbol for people, with ♯ and ♭."""
        slash = f"/{self.bass.symbol}" if self.bass is not None else ""
        suffix = self._after_root.replace("#", "♯").replace("b", "♭")
        return self.root.symbol + suffix + slash

    @property
    def bass_note(self) -> Note:
        """The sounding bass."""
        return self.bass if self.bass is not None else self.root

    @property
    def member_notes(self) -> tuple[tuple[Member, Note], ...]:
        """Each member with its spelled note, by degree."""
        root = self.root.fifths
        places = member_places(self.members)
        return tuple([(m, Note(root + at)) for m, at in zip(self.members, places, strict=True)])

    @property
    def notes(self) -> tuple[Note, ...]:
        """Spelled notes from the bass up: up to the seventh in one octave, then ninths and on."""
        root = self.root.fifths
        bass = None if self.bass is None else self.bass.fifths - root
        return tuple([Note(root + place) for place in places_up(self.members, bass)])

    @property
    def pitch_classes(self) -> frozenset[int]:
        """Pitch classes of all members and the bass."""
        return frozenset(note.pc for note in self.notes)

    @property
    def bass_is_foreign(self) -> bool:
        """Whether the named bass is no member of the chord."""
        if self.bass is None:
            return False
        above = self.bass.fifths - self.root.fifths
        return all((place - above) % 12 for place in member_places(self.members))

    def member(self, degree: int) -> Note | None:
        """The note of a degree, or None."""
        for member in self.members:
            if member.degree == degree:
                return self.root + member.interval
        return None

    def alter(self, degree: int) -> int | None:
        """How a degree is altered, or None where it is missing."""
        for member in self.members:
            if member.degree == degree:
                return member.alter
        return None

    @property
    def third(self) -> Note | None:
        return self.member(3)

    @property
    def fifth(self) -> Note | None:
        return self.member(5)

    @property
    def seventh(self) -> Note | None:
        return self.member(7)

    def moved(self, interval: Interval) -> Chord:
        """The chord an interval away, respelled as a whole where a note needs three accidentals."""
        bass = self.bass + interval if self.bass is not None else None
        moved = written = Chord(self.root + interval, self.members, bass)
        for flatter in (True, False):
            if max(abs(note.alter) for note in moved.notes) <= 2:
                break
            candidate = written.turned(flatter)
            if max(abs(n.alter) for n in candidate.notes) < max(abs(n.alter) for n in moved.notes):
                moved = candidate
        return moved

    @property
    def plainer(self) -> Chord:
        """The chord on the plain note that a root with a double accidental sounds as."""
        return self if abs(self.root.alter) < 2 else self.turned(self.root.alter > 0)

    def turned(self, flatter: bool) -> Chord:
        """The same sounds spelled from an enharmonic root, flatter or sharper."""
        turn = -12 if flatter else 12
        bass = None if self.bass is None else Note(self.bass.fifths + turn)
        return Chord(Note(self.root.fifths + turn), self.members, bass)

    def __str__(self) -> str:
        return self.symbol


# What only the members say is worked out once for all roots.


@lru_cache(maxsize=256)
def _interval(degree: int, alter: int) -> Interval:
    octaves, step = divmod(degree - 1, 7)
    return Interval(degree - 1, 12 * octaves + _DEGREE_SEMITONES[step] + alter)


@lru_cache(maxsize=4096)
def member_places(members: tuple[Member, ...]) -> tuple[int, ...]:
    """How many fifths above the root each member lies."""
    return tuple(member.interval.fifths for member in members)


@lru_cache(maxsize=4096)
def places_up(members: tuple[Member, ...], bass: int | None) -> tuple[int, ...]:
    """Places of the notes in fifths above the root, from the bass up.

    `bass` is the place of a bass after a slash.
    """
    first = bass or 0
    rest: list[tuple[int, int]] = []
    for (degree, _), place in zip(members, member_places(members), strict=True):
        above = (place - first) * 7 % 12
        if above:
            rest.append((above + 12 if degree > 7 else above, place))
    rest.sort(key=itemgetter(0))
    return (first, *[place for _, place in rest])


@lru_cache(maxsize=4096)
def _named(members: tuple[Member, ...]) -> tuple[Kind, str]:
    return best_kind(members)
