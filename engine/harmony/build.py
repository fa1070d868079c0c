"""How a chord is built above its root: what its members and its bass say, whatever that root is.

Chords built alike are one object, so that this is worked out once for all roots and keys. Places
are in fifths above the root.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from engine.chord import Chord, Member, member_places
from engine.harmony import numeral
from engine.pitch import Note

_RESTLESS = {(5, -1), (5, 1), (9, -1), (13, -1)}


@dataclass(frozen=True, slots=True, eq=False)
class Build:
    """`third`, `fifth` and `seventh` are alterations, None where the chord has none.

    `bass` is the place of a bass after a slash, `bass_member` the member that it is (a seventh
    below a triad counts as its seventh). `core` holds the places of triad and seventh, `low` those
    of root, third or suspension, and fifth; `notes` are all places from the bass up.
    """

    members: tuple[Member, ...]
    bass: int | None
    bass_member: Member | None
    third: int | None
    fifth: int | None
    seventh: int | None
    core: frozenset[int]
    low: frozenset[int]
    notes: tuple[int, ...]
    has_seventh: bool
    minor_seventh: bool
    on_third: bool
    on_fifth: bool
    suspended: bool
    symmetrical: bool
    at_rest: bool
    mark: str
    figures: str

    def within(self, root: int, scale: frozenset[int]) -> bool:
        """Whether triad and seventh lie in a scale, from a root on the line of fifths."""
        return root in _roots(self.core, scale)

    def low_within(self, root: int, scale: frozenset[int]) -> bool:
        """Whether what lies below the seventh is in a scale."""
        return root in _roots(self.low, scale)


def build_of(chord: Chord) -> Build:
    """How a chord is built."""
    return built(
        chord.members, None if chord.bass is None else chord.bass.fifths - chord.root.fifths
    )


@lru_cache(maxsize=4096)
def built(members: tuple[Member, ...], bass: int | None) -> Build:
    """What is built of these members over a bass so many fifths above their root."""
    chord = Chord(Note(0), members, None if bass is None else Note(bass))
    third, fifth, seventh = chord.alter(3), chord.alter(5), chord.alter(7)
    member = numeral.bass_member(chord)
    places = list(zip(members, member_places(members), strict=True))
    core = [at for (degree, _), at in places if degree in (1, 3, 5, 7)]
    if bass is not None and member is not None and member.degree == 7:
        core.append(member.interval.fifths)
    below = seventh is None and member is not None and member.degree == 7
    return Build(
        members=members,
        bass=bass,
        bass_member=member,
        third=third,
        fifth=fifth,
        seventh=seventh,
        core=frozenset(core),
        low=frozenset(at for (degree, _), at in places if degree <= 5),
        notes=tuple(note.fifths for note in chord.notes),
        has_seventh=seventh is not None or below,
        minor_seventh=seventh == -1 or (below and member == Member(7, -1)),
        on_third=bass is not None and chord.bass == chord.third,
        on_fifth=bass is not None and chord.bass == chord.fifth,
        suspended=third is None and chord.alter(4) is not None,
        symmetrical=(third, fifth, seventh) == (-1, -1, -2) and len(members) == 4,
        at_rest=not any((degree, alter) in _RESTLESS for degree, alter in members),
        mark=numeral.quality_mark(members),
        figures=numeral.figures(members, member),
    )


@lru_cache(maxsize=4096)
def bass_spelled(build: Build) -> Build:
    """The same with its bass spelled as the member that it is."""
    if build.bass is None:
        return build
    own = [at for at in member_places(build.members) if not (at - build.bass) % 12]
    return built(build.members, own[-1]) if own else build


@lru_cache(maxsize=4096)
def turned(build: Build, fifths: int) -> Build:
    """The same members from another root, so many fifths away, over the same bass."""
    above = (build.bass or 0) - fifths
    own = next((at for at in member_places(build.members) if not (at - above) % 12), above)
    return built(build.members, own or None)


@lru_cache(maxsize=4096)
def _roots(places: frozenset[int], scale: frozenset[int]) -> frozenset[int]:
    """The roots from which all places lie in a scale."""
    roots = range(min(scale) - min(places), max(scale) - max(places) + 1)
    return frozenset(root for root in roots if all(root + at in scale for at in places))
