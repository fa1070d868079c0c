"""How a chord is built above its root: what its members and its bass say, whatever that root is.

Chords built alike are one object, so that this is worked out once for all roots and keys. Places
are in fifths above the root.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from engine.chord import Chord, Member, member_places, places_up
from engine.harmony import numeral

_CORE = (1, 3, 5, 7)
_RESTLESS = {(5, -1), (5, 1), (9, -1), (13, -1)}
_ORIGIN = 96  # the bit of the tonic, or of the root


@dataclass(slots=True, eq=False)
class Stack:
    """What members say whatever their bass: most chords over a bass are built of few stacks.

    `third`, `fifth` and `seventh` are alterations, None where the chord has none; `at_third` and
    `at_fifth` the places of the first two; `spelled` finds the member's place for any that sounds
    the same, within twelve fifths. `core` holds the places of triad and seventh, `low`
    those of root, third or suspension, and fifth.
    """

    members: Final[tuple[Member, ...]]
    third: Final[int | None]
    fifth: Final[int | None]
    seventh: Final[int | None]
    at_third: Final[int | None]
    at_fifth: Final[int | None]
    spelled: Final[dict[int, int]]
    core: Final[int]
    low: Final[int]
    suspended: Final[bool]
    symmetrical: Final[bool]
    at_rest: Final[bool]
    mark: Final[str]


@dataclass(slots=True, eq=False)
class Build:
    """A stack over a bass; its third, fifth and seventh again, as every reading asks for them.

    `bass` is the place of a bass after a slash, `bass_member` the member that it is (a seventh
    below a triad counts as its seventh, and belongs to the `core`); `notes` are all places from
    the bass up.
    """

    stack: Final[Stack]
    third: Final[int | None]
    fifth: Final[int | None]
    seventh: Final[int | None]
    bass: Final[int | None]
    bass_member: Final[Member | None]
    core: Final[int]
    notes: Final[tuple[int, ...]]
    has_seventh: Final[bool]
    minor_seventh: Final[bool]
    on_third: Final[bool]
    on_fifth: Final[bool]
    figures: Final[str]

    def within(self, root: int, scale: int) -> bool:
        """Whether triad and seventh lie in a scale, from a root on the line of fifths."""
        core = self.core << root if root > 0 else self.core >> -root
        return core & scale == core

    def low_within(self, root: int, scale: int) -> bool:
        """Whether what lies below the seventh is in a scale."""
        low = self.stack.low << root if root > 0 else self.stack.low >> -root
        return low & scale == low


def places(found: Iterable[int]) -> int:
    """A set of places on the line of fifths: a bit each, so that one shift moves them all."""
    bits = 0
    for place in found:
        bits |= 1 << place + _ORIGIN
    return bits


@lru_cache(maxsize=4096)
def stacked(members: tuple[Member, ...]) -> Stack:
    """What these members say."""
    have = dict(reversed(members))
    third, fifth, seventh = have.get(3), have.get(5), have.get(7)
    above = dict(zip(members, member_places(members), strict=True))
    return Stack(
        members=members,
        third=third,
        fifth=fifth,
        seventh=seventh,
        at_third=None if third is None else above[Member(3, third)],
        at_fifth=None if fifth is None else above[Member(5, fifth)],
        spelled={at % 12: at for at in above.values()},
        core=places([at for (degree, _), at in above.items() if degree in _CORE]),
        low=places([at for (degree, _), at in above.items() if degree <= 5]),
        suspended=third is None and 4 in have,
        symmetrical=(third, fifth, seventh) == (-1, -1, -2) and len(members) == 4,
        at_rest=_RESTLESS.isdisjoint(members),
        mark=numeral.quality_mark(members),
    )


def build_of(chord: Chord) -> Build:
    """How a chord is built."""
    return built(
        chord.members, None if chord.bass is None else chord.bass.fifths - chord.root.fifths
    )


@lru_cache(maxsize=4096)
def built(members: tuple[Member, ...], bass: int | None) -> Build:
    """What is built of these members over a bass so many fifths above their root."""
    stack, member = stacked(members), numeral.member_over(members, bass)
    seventh, core = stack.seventh, stack.core
    below = member if member is not None and member.degree == 7 else None
    if below is not None:
        core |= places([below.interval.fifths])
    return Build(
        stack=stack,
        third=stack.third,
        fifth=stack.fifth,
        seventh=seventh,
        bass=bass,
        bass_member=member,
        core=core,
        notes=places_up(members, bass),
        has_seventh=seventh is not None or below is not None,
        minor_seventh=seventh == -1 or (seventh is None and below == (7, -1)),
        on_third=bass is not None and bass == stack.at_third,
        on_fifth=bass is not None and bass == stack.at_fifth,
        figures=numeral.figures(members, member),
    )


def bass_spelled(build: Build) -> Build:
    """The same with its bass spelled as the member that it is."""
    bass, stack = build.bass, build.stack
    if bass is None:
        return build
    own = stack.spelled.get(bass % 12, bass)
    return build if own == bass else built(stack.members, own)


@lru_cache(maxsize=4096)
def turned(build: Build, fifths: int) -> Build:
    """The same members from another root, so many fifths away, over the same bass."""
    above = (build.bass or 0) - fifths
    own = next((at for at in member_places(build.stack.members) if not (at - above) % 12), above)
    return built(build.stack.members, own or None)


def plain_numeral(root: int, build: Build, minor: bool) -> str:
    """The numeral of a chord by its own root, the tonic at 0 on the line of fifths."""
    degree, third, mark = numeral.degree_of(root, minor), build.third, build.stack.mark
    if third is None:
        usual = (1, 2, 4) if minor else (2, 3, 6)
        lower = degree.alter == 0 and degree.number in usual
    else:
        lower = third == -1
    if (
        third == -1
        and build.fifth is None
        and (degree.number, degree.alter) == (2 if minor else 7, 0)
    ):
        mark = "ø" if build.seventh == -1 else "°"  # the fifth that is left out is diminished
    if minor and root == 5 and mark in ("°", "ø"):
        return f"vii{mark}{build.figures}"
    return (degree.lower if lower else degree.upper) + mark + build.figures
