"""The kinds of chord, read from shared/tables/chord_kinds.toml, and the naming of members.

`best_kind` finds the kind that needs the fewest changes to give a set of
members, and writes those changes; it is the inverse of the symbol grammar.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import shared

_NUMBER = re.compile(r"13|11|[2-9]")
_MEMBER = re.compile(r"([#b]*)(\d+)")


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of chord; `members` are (degree, alteration) pairs by degree."""

    name: str
    suffix: str
    members: tuple[tuple[int, int], ...]
    own: bool = False


def read_member(text: str) -> tuple[int, int]:
    """`b3` as (3, -1), `#11` as (11, 1)."""
    match = _MEMBER.fullmatch(text)
    if match is None:
        raise ValueError(f"{text!r} is not a chord member")
    return int(match[2]), match[1].count("#") - match[1].count("b")


@lru_cache(maxsize=1)
def kinds() -> tuple[Kind, ...]:
    """All kinds, in the order of the table."""
    table = tomllib.loads(shared.text("tables", "chord_kinds.toml"))
    return tuple(
        Kind(
            row["name"],
            row["suffix"],
            tuple(sorted(read_member(member) for member in row["members"].split())),
            row.get("own", False),
        )
        for row in table["kind"]
    )


@lru_cache(maxsize=1)
def _plain() -> dict[frozenset[tuple[int, int]], Kind]:
    """The first kind that has just these members, which needs no change."""
    return {frozenset(kind.members): kind for kind in reversed(kinds())}


def _accidental(alter: int) -> str:
    return "#" * alter if alter > 0 else "b" * -alter


# What a change costs: the fewer and the commoner the changes, the nearer the kind.
_ALTERED, _ADDED, _OMITTED, _BESIDE, _REPLACED = 1.0, 1.1, 1.4, 3.0, 100.0
_STACKED, _UNSTACKED = 1.5, 3.0  # a seventh belongs to its kind
_UNWRITABLE = 1000.0  # a second or fourth is written as a suspension only
_MAY_ALTER = (5, 9, 11, 13)


def _by_degree(members: Iterable[tuple[int, int]]) -> dict[int, set[int]]:
    found: dict[int, set[int]] = {}
    for degree, alter in members:
        found.setdefault(degree, set()).add(alter)
    return found


def _add(degree: int, alter: int) -> str:
    if degree == 7 and alter == 0:
        return "addmaj7"
    return f"add{_accidental(alter)}{degree}"


def _change(
    degree: int, base: set[int], wanted: set[int], seventh: bool, named: bool
) -> tuple[float, list[str]]:
    """What turns a kind's members of one degree into the wanted ones: cost and words.

    A degree that the kind's own suffix names is not altered (`9(b9)`).
    """
    extra = sorted(wanted - base)
    if not wanted:
        return _UNSTACKED if degree == 7 else _OMITTED, [f"no{degree}"]
    if not base:
        plain = degree > 8 and seventh and 0 not in wanted
        cost = (_ALTERED if plain else _STACKED if degree == 7 else _ADDED) * len(extra)
        if degree in (2, 4):
            cost += _UNWRITABLE
        words = [f"{_accidental(a)}{degree}" if plain else _add(degree, a) for a in extra]
        return cost, words
    if base <= wanted:
        return _BESIDE * len(extra), [_add(degree, alter) for alter in extra]
    if degree in _MAY_ALTER and base == {0} and not named:
        return _ALTERED * len(extra), [f"{_accidental(alter)}{degree}" for alter in extra]
    return _REPLACED, [f"no{degree}", *(_add(degree, alter) for alter in sorted(wanted))]


def _cost_and_text(kind: Kind, members: frozenset[tuple[int, int]]) -> tuple[float, str]:
    """How far a kind is from the members, and the changes that lead there, in brackets."""
    base, wanted = _by_degree(kind.members), _by_degree(members)
    cost = 0.0
    words: list[str] = []
    omitted: list[str] = []
    for degree in sorted(base.keys() | wanted.keys()):
        have, want = base.get(degree, set()), wanted.get(degree, set())
        if have != want:
            named = degree > 5 and str(degree) in _NUMBER.findall(kind.suffix)
            price, changes = _change(degree, have, want, 7 in base, named)
            cost += price
            (words if want else omitted).extend(changes)
    changes = words + omitted
    if changes and kind.name == "pedal":  # nobody builds on a single note
        cost += _REPLACED
    return cost, f"({','.join(changes)})" if changes else ""


def best_kind(members: tuple[tuple[int, int], ...]) -> tuple[Kind, str]:
    """The kind that names these members with the fewest changes, and the changes written out."""
    wanted = frozenset((degree, alter) for degree, alter in members)
    if wanted in _plain():
        return _plain()[wanted], ""
    best: tuple[float, str, Kind] | None = None
    for kind in kinds():
        cost, text = _cost_and_text(kind, wanted)
        if best is None or cost < best[0]:
            best = (cost, text, kind)
    assert best is not None
    return best[2], best[1]
