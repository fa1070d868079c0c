"""Shapes: the notes a right hand holds ready over one harmony, and the choice among them.

A shape is two or three members in close position within an octave, low to
high. `shapes` lists those worth choosing from, with what each costs in itself;
`shape_moves` prices the step from one to the next; `choose_shapes` finds the
row of shapes with the least cost in all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise

from engine.hands.leading import movement
from engine.hands.search import NEVER, Costs, cheapest
from engine.hands.tones import Tones

Pitches = tuple[int, ...]

#: A semitone of movement; every other cost is weighed against it.
SEMITONE = 14
#: What it costs to leave a member out of the shape that is not the bass.
_LEFT_OUT = {1: 20, 2: 30, 3: 60, 4: 30, 5: 4, 6: 30, 7: 40, 9: 18, 11: 18, 13: 18}
_ALTERED_FIFTH = 40
#: The same for a root that the harmony goes without.
_ROOT_SPARED = 2
#: What it costs to double the bass in the shape, by what the bass is.
_DOUBLED = {3: 25, 7: 20, 6: 6}
_LEADING_DOUBLED = 600
_RUB = 8  # a half step between neighbours of a shape
_MOST_SETS = 3


@dataclass(frozen=True, slots=True, eq=False)
class ShapeSet:
    """The shapes of one harmony in one register window; `costs` is what each costs in itself."""

    tones: Tones
    shapes: tuple[Pitches, ...]
    costs: Costs

    def __len__(self) -> int:
        return len(self.shapes)


@lru_cache(maxsize=2048)
def member_sets(tones: Tones) -> tuple[tuple[tuple[int, ...], int], ...]:
    """The sets of pitch classes a shape may be made of, each with its cost, cheapest first.

    Two notes stand for an open fifth or a chord whose third is in the bass.
    """
    members = [(degree, pc) for degree, pc in tones.members]
    left_out = dict(_LEFT_OUT)
    if tones.chord.alter(5) not in (0, None):
        left_out[5] = _ALTERED_FIFTH
    if tones.spared_root:
        left_out[1] = _ROOT_SPARED
    found = []
    for size in (2, 3):
        for chosen in combinations(members, min(size, len(members))):
            pcs = tuple(sorted({pc for _, pc in chosen}))
            degrees = {degree for degree, _ in chosen}
            cost = 6 if len(pcs) < 3 else 0
            for degree, pc in members:
                if degree not in degrees and pc != tones.bass:
                    cost += left_out.get(degree, 20)
                if degree in degrees and pc == tones.bass:
                    cost += _DOUBLED.get(degree, 0)
                    cost += _LEADING_DOUBLED if pc == tones.leading else 0
            found.append((cost, pcs))
    found = sorted(set(found))
    limit = found[0][0] + 10
    return tuple((pcs, cost) for cost, pcs in found[:_MOST_SETS] if cost <= limit)


@lru_cache(maxsize=8192)
def shapes(tones: Tones, low: int, high: int, reach: int = 12) -> ShapeSet:
    """The shapes whose notes all lie in `low`–`high` (MIDI), within an octave and the reach.

    Where the window holds none, the nearest above it is taken.
    """
    found: dict[Pitches, int] = {}
    for pcs, cost in member_sets(tones):
        for shape in _placed(pcs, low, high, min(reach, 12)):
            own = cost + sum(_RUB for a, b in pairwise(shape) if b - a == 1)
            if len(shape) > len(pcs) and shape[0] % 12 == tones.leading:
                own += _LEADING_DOUBLED
            found[shape] = min(own, found.get(shape, NEVER))
    if not found:
        if high < 108:
            return shapes(tones, low, high + 2, reach)
        lone = low + (tones.members[-1][1] - low) % 12
        found[(lone,)] = 0
    ordered = sorted(found)
    return ShapeSet(tones, tuple(ordered), tuple(found[shape] for shape in ordered))


def _placed(pcs: tuple[int, ...], low: int, high: int, span: int) -> list[Pitches]:
    out = []
    for start in range(low, high + 1):
        if start % 12 in pcs:
            above = sorted((pc - start) % 12 for pc in pcs)
            shape = tuple(start + size for size in above)
            if len(shape) <= 2:
                shape = (*shape, start + 12)
            if shape[-1] - start > span:
                shape = tuple(pitch for pitch in shape if pitch - start <= span)
            if shape[-1] <= high and len(shape) > 1:
                out.append(shape)
    return out


@lru_cache(maxsize=8192)
def shape_moves(earlier: ShapeSet, later: ShapeSet) -> tuple[Costs, ...]:
    """For each later shape, the cost of coming from each earlier one."""
    same = earlier.tones is later.tones
    return tuple(
        tuple(_move(before, after, same=same) for before in earlier.shapes)
        for after in later.shapes
    )


def _move(before: Pitches, after: Pitches, *, same: bool) -> int:
    cost = SEMITONE * movement(before, after)
    top = abs(after[-1] - before[-1])
    if same:
        return cost
    if top == 0:
        return cost + 3
    return cost + (4 * (top - 4) if top > 4 else 0)


def choose_shapes(
    stages: Sequence[ShapeSet], local: Sequence[Costs] | None = None
) -> tuple[Pitches, ...]:
    """One shape for each stage: least movement, common tones kept, top line without leaps.

    `local` adds costs of the place (register, what the left hand plays) to
    those the shapes have in themselves; without it they alone count.
    """
    costs = [stage.costs for stage in stages] if local is None else local
    path = cheapest(stages, costs, shape_moves)
    return tuple(stage.shapes[at] for stage, at in zip(stages, path, strict=True))
