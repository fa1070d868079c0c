"""One reading of a chord before its neighbours are looked at, and what the ways to read share.

Everything here is relative: the tonic is C (0 on the line of fifths), so that
a reading moves with its key by construction and can be kept for all keys.
`cost` says how far-fetched a reading is; the weights stand in
shared/tables/reading.toml.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from engine.chord import Chord, Member, member_places
from engine.harmony import numeral
from engine.harmony.words import Category, Function
from engine.pitch import Note


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One reading of a chord relative to its tonic, one object for all its uses.

    `chord` is respelled for this reading; `target` is the degree it leans on
    in fifths from the tonic, None where it leans on none; `kind` is what the
    context looks at.
    """

    chord: Chord
    roman: str
    function: Function
    category: Category
    cost: float
    kind: str
    target: int | None = None
    target_minor: bool = False
    respelled: tuple[Note, ...] | None = None

    @property
    def notes(self) -> tuple[Note, ...]:
        """From the bass up; those of an augmented sixth are not spelled as the chord's."""
        return self.chord.notes if self.respelled is None else self.respelled

    @property
    def acting_root(self) -> int:
        """The root in fifths from the tonic: of a suspended dominant like `F/G`, its bass."""
        chord = self.chord
        if chord.bass is None:
            return chord.root.fifths
        held = self.category is Category.SUSPENDED and self.function is Function.DOMINANT
        return (chord.bass if held or self.kind == "held" else chord.root).fifths


# Degrees that may be leant on, in fifths from the tonic: (fifths, minor, nearness); `other` is
# a near degree in the other mode, taken where the goal is heard so.
TARGETS = {
    False: (
        (1, False, "near"), (2, True, "near"), (-1, False, "near"), (3, True, "near"),
        (4, True, "near"), (-2, False, "far"), (-3, False, "far"), (-4, False, "far"),
        (-5, False, "far"), (5, True, "far"), (1, True, "other"), (-1, True, "other"),
        (2, False, "other"), (3, False, "other"), (4, False, "other"), (5, False, "far"),
    ),
    True: (
        (1, False, "near"), (-1, True, "near"), (-3, False, "near"), (-4, False, "near"),
        (-2, False, "near"), (-5, False, "far"), (2, True, "far"), (1, True, "other"),
        (-1, False, "other"),
    ),
}  # fmt: skip

_AT = {
    minor: [
        tuple(target for target in targets if (target[0] - place) % 12 == 0) for place in range(12)
    ]
    for minor, targets in TARGETS.items()
}


def targets_at(place: int, minor: bool) -> tuple[tuple[int, bool, str], ...]:
    """The degrees that may be leant on `place` fifths from the tonic, or enharmonic with it."""
    return _AT[minor][place % 12]


MAJOR_SCALE = frozenset(range(-1, 6))
MINOR_SCALE = frozenset(range(-4, 3))
MIXOLYDIAN = frozenset(range(-2, 5))
PHRYGIAN = frozenset(range(-5, 2))
HARMONIC = MINOR_SCALE | {5}
MELODIC = HARMONIC | {3}
_RESTLESS = {(5, -1), (5, 1), (9, -1), (13, -1)}


def triad(chord: Chord) -> tuple[int | None, int | None, int | None]:
    return _triad(chord.members)


@lru_cache(maxsize=4096)
def _triad(members: tuple[Member, ...]) -> tuple[int | None, int | None, int | None]:
    have = {member.degree: member.alter for member in reversed(members)}
    return have.get(3), have.get(5), have.get(7)


def rooted(chord: Chord, fifths: int) -> Chord:
    """The chord spelled from an enharmonic root, its bass spelled as its member."""
    shift = fifths - chord.root.fifths
    root = Note(fifths)
    if chord.bass is None:
        return Chord(root, chord.members)
    bass = Note(chord.bass.fifths + shift)
    for member in chord.members:
        note = root + member.interval
        if note.pc == chord.bass.pc:
            bass = note
    return Chord(root, chord.members, bass)


def has_seventh(chord: Chord) -> bool:
    member = numeral.bass_member(chord)
    return chord.alter(7) is not None or (member is not None and member.degree == 7)


def minor_seventh(chord: Chord) -> bool:
    member = numeral.bass_member(chord)
    return chord.alter(7) == -1 or (member == Member(7, -1) and chord.alter(7) is None)


def at_rest(chord: Chord) -> bool:
    """Whether a dominant seventh has nothing that wants to go on: no altered fifth, ♭9 or ♭13."""
    return not any((m.degree, m.alter) in _RESTLESS for m in chord.members)


def degrees(chord: Chord) -> frozenset[int]:
    return frozenset(member.degree for member in chord.members)


def core(chord: Chord) -> frozenset[int]:
    """Places of triad and seventh on the line of fifths."""
    root = chord.root.fifths
    bass = numeral.bass_member(chord) if chord.bass is not None else None
    return frozenset([root + place for place in _core(chord.members, bass)])


def low_core(chord: Chord) -> frozenset[int]:
    """Places of root, third or suspension, and fifth on the line of fifths."""
    root = chord.root.fifths
    return frozenset([root + place for place in _low(chord.members)])


@lru_cache(maxsize=4096)
def _low(members: tuple[Member, ...]) -> tuple[int, ...]:
    pairs = zip(members, member_places(members), strict=True)
    return tuple(place for member, place in pairs if member.degree <= 5)


@lru_cache(maxsize=4096)
def _core(members: tuple[Member, ...], bass: Member | None) -> tuple[int, ...]:
    places = [
        place
        for member, place in zip(members, member_places(members), strict=True)
        if member.degree in (1, 3, 5, 7)
    ]
    if bass is not None and bass.degree == 7:
        places.append(bass.interval.fifths)
    return tuple(places)


def target_name(fifths: int, lower: bool, minor: bool) -> str:
    return numeral.degree_name(fifths, minor, lower)


def is_symmetrical(chord: Chord) -> bool:
    """Whether any note of a diminished seventh can be its root: it has no other notes."""
    return triad(chord) == (-1, -1, -2) and len(chord.members) == 4


def turn_diminished(chord: Chord, turn: int) -> Chord:
    """A diminished seventh spelled from the root `turn` fifths away, its bass kept sounding."""
    root = Note(chord.root.fifths + turn)
    bass = next(
        (root + m.interval for m in chord.members if (root + m.interval).pc == chord.bass_note.pc),
        chord.bass_note,
    )
    return Chord(root, chord.members, None if bass == root else bass)


def make(
    chord: Chord,
    roman: str,
    function: Function,
    category: Category,
    cost: float,
    kind: str,
    target: tuple[int, bool] | None = None,
    notes: tuple[Note, ...] | None = None,
) -> Candidate:
    goal, minor = target if target is not None else (None, False)
    return Candidate(chord, roman, function, category, cost, kind, goal, minor, notes)
