"""One dynamic program for every stage: the cheapest row of options, joined pair by pair.

What a stage remembers is only its row of costs, made relative to the cheapest.
So when one stage of a long row changes, the rows after it become the same as
before as soon as the choices meet again, and everything further on is found
remembered.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from functools import lru_cache
from operator import add

#: A cost no sum of others reaches.
NEVER = 1_000_000

Costs = tuple[int, ...]


#: Cost matrices, one row for each later option: the cost of coming from each earlier one.
Moves = Callable[[Hashable, Hashable], Sequence[Costs]]


@lru_cache(maxsize=65536)
def _step(
    before: Costs, earlier: Hashable, later: Hashable, local: Costs, moves: Moves
) -> tuple[Costs, tuple[int, ...]]:
    """Relative costs of the later options, and where each comes from."""
    costs, origins = [], []
    for own, row in zip(local, moves(earlier, later), strict=True):
        if own >= NEVER:
            costs.append(4 * NEVER)
            origins.append(0)
            continue
        sums = list(map(add, before, row))
        best = min(sums)
        costs.append(best + own)
        origins.append(sums.index(best))
    least = min(costs)
    return tuple(min(cost - least, 4 * NEVER) for cost in costs), tuple(origins)


def cheapest(stages: Sequence[Hashable], local: Sequence[Costs], moves: Moves) -> list[int]:
    """The option to take at each stage so that local costs and moves are least in all.

    Among equal choices the first wins, so the answer is the same everywhere.
    """
    if not stages:
        return []
    least = min(local[0])
    costs: Costs = tuple(cost - least for cost in local[0])
    origins: list[tuple[int, ...]] = []
    for index in range(1, len(stages)):
        costs, came = _step(costs, stages[index - 1], stages[index], local[index], moves)
        origins.append(came)
    at = costs.index(min(costs))
    path = [at]
    for came in reversed(origins):
        at = came[at]
        path.append(at)
    path.reverse()
    return path
