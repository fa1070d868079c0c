"""Repeats and endings written out: in which order the measures of a file are played."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

MOST_MEASURES = 2000


@dataclass(frozen=True, slots=True)
class Signs:
    """What stands at a measure: a repeat that begins or ends, and the endings it belongs to."""

    begins: bool = False
    ends: bool = False
    times: int = 2
    endings: frozenset[int] = frozenset()


def played_order(signs: Sequence[Signs]) -> list[int]:
    """Indices of the measures as they are played, at most `MOST_MEASURES`.

    A repeat without a beginning goes back to the one before it, or to the start.
    """
    order: list[int] = []
    passes: dict[int, int] = {}
    start, turn, at = 0, 1, 0
    while at < len(signs) and len(order) < MOST_MEASURES:
        sign = signs[at]
        if sign.begins and at != start:
            start, turn = at, 1
        if sign.endings and turn not in sign.endings:
            at += 1
            continue
        order.append(at)
        again = bool(sign.endings) or passes.get(at, 1) < min(8, sign.times)
        if sign.ends and again:
            passes[at] = passes.get(at, 1) + 1
            turn += 1
            at = start
            continue
        at += 1
        more = at < len(signs) and bool(signs[at].endings)
        if (sign.ends or sign.endings) and not more:
            start, turn = at, 1
    return order
