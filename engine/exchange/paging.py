"""Which systems stand on which page, and the air over each, so that pages are filled evenly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

from engine.exchange.typeset import Paper

#: Air over a block, in millimetres, the most first.
GAPS_MM = (5.0, 4.0, 3.0, 2.0)
#: The most that a page is spread with, and where one page holds all.
_MOST_MM, _MOST_ALONE_MM = 14.0, 8.0
#: What the foot of a page takes beside its margin.
_FOOT_MM = 3.5
#: The heading of a first page: the title, and each line more.
_TITLE_MM, _LINE_MM = 6.0, 6.0
#: What is worse by how much: room left on a page (its share, squared), air that differs from the
#: usual (its share, squared), a page that begins inside a section, a last page of one system.
_EMPTY, _AIR, _INSIDE, _LONE = 4.0, 0.1, 0.03, 0.3


def heading_mm(*lines: str) -> float:
    """The height of a first page's heading, with those lines under the title that are not empty."""
    return _TITLE_MM + _LINE_MM * sum(bool(line) for line in lines)


def page_room(paper: Paper) -> float:
    """The height that a page has for what stands on it, in millimetres."""
    return paper.height - 2 * paper.margin - _FOOT_MM


def pages_needed(heights: Sequence[float], paper: Paper, first: float) -> int:
    """How many pages blocks of these heights take when `first` is taken on the first page."""
    room = page_room(paper)
    pages, left = 1, room - first
    for height in heights:
        if height > left and left < room:
            pages, left = pages + 1, room
        left -= height
    return pages


def best_gap(heights: Sequence[float], paper: Paper, first: float) -> float:
    """The largest gap over blocks that takes no more pages than the smallest would."""
    return min(
        GAPS_MM,
        key=lambda gap: (pages_needed([h + gap for h in heights], paper, first), -gap),
    )


@dataclass(frozen=True, slots=True)
class Place:
    """The air over a system, in millimetres, and whether it begins a page."""

    gap: float
    breaks: bool = False


def placed(
    heights: Sequence[float], opens: Sequence[bool], paper: Paper, first: float
) -> list[Place]:
    """Where systems of these heights stand, `opens` saying which begin a section.

    As few pages as the least air allows, filled as evenly as can be; of equal ways one that
    begins its pages with sections and leaves no system alone on the last.
    """
    least = GAPS_MM[-1]
    pages = pages_needed([height + least for height in heights], paper, first)
    cuts = _cuts(tuple(heights), tuple(opens), pages, page_room(paper), first)
    out: list[Place] = []
    for n, (low, high) in enumerate(zip(cuts, [*cuts[1:], len(heights)], strict=True)):
        room = page_room(paper) - (first if n == 0 else 0.0)
        most = _MOST_ALONE_MM if pages == 1 else _MOST_MM
        if 0 < n == pages - 1:
            most = max(GAPS_MM[0], min(place.gap for place in out))
        gap = min(most, _air(heights[low:high], room))
        out += [Place(gap, breaks=n > 0 and at == low) for at in range(low, high)]
    return [replace(out[0], gap=min(out[0].gap, GAPS_MM[0])), *out[1:]] if out else out


def _air(heights: Sequence[float], room: float) -> float:
    """The air over each of a page's systems that fills the page, never less than the least."""
    return max(GAPS_MM[-1], (room - sum(heights)) / max(1, len(heights)))


def _cuts(
    heights: tuple[float, ...], opens: tuple[bool, ...], pages: int, full: float, first: float
) -> list[int]:
    """The system that begins each page."""

    @cache
    def best(low: int, page: int) -> tuple[float, tuple[int, ...]]:
        room = full - (first if page == 0 else 0.0)
        if page == pages - 1:
            own = heights[low:]
            fits = sum(own) + GAPS_MM[-1] * len(own) <= room or len(own) == 1
            alone = _LONE if len(own) == 1 and pages > 1 else 0.0
            return (alone if fits else float("inf"), (low,))
        ways = []
        for high in range(low + 1, len(heights) - (pages - page - 2)):
            own = heights[low:high]
            if len(own) > 1 and sum(own) + GAPS_MM[-1] * len(own) > room:
                break
            air = min(_MOST_MM, _air(own, room))
            empty = max(0.0, 1 - (sum(own) + air * len(own)) / room)
            cost = _EMPTY * empty**2 + _AIR * (air / GAPS_MM[0] - 1) ** 2
            cost += 0.0 if opens[high] else _INSIDE
            after, cuts = best(high, page + 1)
            ways.append((cost + after, (low, *cuts)))
        return min(ways, default=(float("inf"), (low,)))

    return list(best(0, 0)[1])
