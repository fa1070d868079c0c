"""The kinds of chord, read from shared/tables/chord_kinds.toml, and the naming of members.

`best_kind` finds the kind that needs the fewest changes to give a set of
members, and writes those changes; it is the inverse of the symbol grammar.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import lru_cache

import shared

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
def kinds_by_suffix() -> dict[str, Kind]:
    return {kind.suffix: kind for kind in kinds()}


def _accidental(alter: int) -> str:
    return "#" * alter if alter > 0 else "b" * -alter


def _added(degree: int, alter: int) -> str:
    """An added note; a plain 7 is the minor seventh, as in C7."""
    if degree == 7:
        return "addmaj7" if alter == 0 else f"add{_accidental(alter + 1)}7"
    return f"add{_accidental(alter)}{degree}"


def _cost_and_text(kind: Kind, members: frozenset[tuple[int, int]]) -> tuple[float, str]:
    base = dict(kind.members)
    have: dict[int, list[int]] = {}
    for degree, alter in members:
        have.setdefault(degree, []).append(alter)
    omitted = [degree for degree in base if degree not in have]
    altered, added = [], []
    for degree, alters in sorted(have.items()):
        extra = sorted(alters)
        if degree in base:
            if base[degree] in extra:
                extra.remove(base[degree])
                if extra and 0 not in (base[degree], *extra):
                    # b9 in the kind and #9 beside it
                    pass
                altered += [(degree, alter, True) for alter in extra]
            else:
                altered += [(degree, extra[0], False)]
                altered += [(degree, alter, True) for alter in extra[1:]]
        else:
            added += [(degree, alter) for alter in extra]
    seventh = 7 in base
    cost = 1.0 * len(altered) + 1.1 * len(added) + 1.4 * len(omitted)
    if any(degree in (1, 3, 7) and alter != base.get(degree) for degree, alter, _ in altered):
        cost += 100
    if any(both and degree in (1, 3, 5, 7) for degree, _, both in altered):
        cost += 3
    # "#5" moves the fifth and "b9" the natural ninth; beside them the altered note is added.
    changes = [
        f"{'add' if both and base[degree] == 0 else ''}{_accidental(alter)}{degree}"
        for degree, alter, both in altered
        if alter
    ]
    if any(alter == 0 for _, alter, _ in altered):
        cost += 100
    for degree, alter in added:
        if alter and degree > 8 and seventh:
            changes.append(f"{_accidental(alter)}{degree}")
            cost -= 0.1
        else:
            changes.append(_added(degree, alter))
    changes += [f"no{degree}" for degree in omitted]
    return cost, f"({','.join(changes)})" if changes else ""


def best_kind(members: tuple[tuple[int, int], ...]) -> tuple[Kind, str]:
    """The kind that names these members with the fewest changes, and the changes written out."""
    wanted = frozenset((degree, alter) for degree, alter in members)
    best: tuple[float, str, Kind] | None = None
    for kind in kinds():
        cost, text = _cost_and_text(kind, wanted)
        if best is None or cost < best[0]:
            best = (cost, text, kind)
    assert best is not None
    return best[2], best[1]
