"""Chord symbols as MusicXML means them: a kind of its list and degrees that change it.

A degree of type `add` is altered against a dominant chord, one of type `alter`
against the kind itself (MusicXML 4.0, `degree-alter`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from engine.chord import Chord, Kind, Member, kinds


@dataclass(frozen=True, slots=True)
class Degree:
    """`type` is add, alter or subtract."""

    value: int
    alter: int
    type: str


def kind_and_degrees(chord: Chord) -> tuple[str, tuple[Degree, ...]]:
    """The `kind-value` nearest to a chord, and the degrees that make up the rest."""
    return _best(chord.members)


def chord_members(kind: str, degrees: Iterable[Degree]) -> tuple[Member, ...] | None:
    """The members that a kind and its degrees give, or None for a kind not in the list."""
    base = _by_name().get(kind)
    if base is None:
        return None
    members = {(degree, alter) for degree, alter in base.members}
    for degree in degrees:
        own = {alter for value, alter in members if value == degree.value}
        if degree.type == "subtract":
            members = {m for m in members if m[0] != degree.value}
        elif degree.type == "alter" and own:
            members = {m for m in members if m[0] != degree.value}
            members |= {(degree.value, alter + degree.alter) for alter in own}
        else:
            offset = -1 if degree.value == 7 else 0
            members.add((degree.value, degree.alter + offset))
    return tuple(Member(*member) for member in sorted(members))


@lru_cache(maxsize=1)
def _by_name() -> dict[str, Kind]:
    return {kind.name: kind for kind in kinds() if not kind.own}


@lru_cache(maxsize=2048)
def _best(members: tuple[Member, ...]) -> tuple[str, tuple[Degree, ...]]:
    return min(
        ((kind.name, _changes(kind, members)) for kind in _by_name().values()),
        key=lambda found: _cost(found[1], dict(_by_name()[found[0]].members)),
    )


def _changes(kind: Kind, members: Iterable[Member]) -> tuple[Degree, ...]:
    base = dict(kind.members)
    wanted: dict[int, list[int]] = {}
    for member in members:
        wanted.setdefault(member.degree, []).append(member.alter)
    out: list[Degree] = []
    for degree, alters in sorted(wanted.items()):
        rest = sorted(alters)
        if degree in base:
            if base[degree] in rest:
                rest.remove(base[degree])
            else:
                out.append(Degree(degree, rest.pop(0) - base[degree], "alter"))
        out += [Degree(degree, alter + (degree == 7), "add") for alter in rest]
    out += [Degree(degree, 0, "subtract") for degree in sorted(base) if degree not in wanted]
    return tuple(out)


def _cost(degrees: Iterable[Degree], base: Mapping[int, int]) -> float:
    """Few changes first; an added ♭9 rather than a ninth chord with its ninth altered.

    An added third or seventh is dear, as readers differ on which seventh is meant unaltered:
    a kind that has its own says it. So is an altered member beside the kind's own of the same
    degree, as readers put it in that one's place (♯5 beside 5: augmented, with 5 added).
    """
    return sum(_price(degree, base) for degree in degrees)


def _price(degree: Degree, base: Mapping[int, int]) -> float:
    if degree.type == "alter":
        far = degree.value in (1, 3, 7) or abs(degree.alter) > 1
        return 11.0 if far else 1.2 if degree.value > 7 else 1.0
    if degree.type == "add":
        beside = 3.4 if degree.alter and degree.value in base else 0.0
        return beside + (3.0 if degree.value in (3, 7) else 1.1)
    return 1.4
