"""Fewer pages where a little less air allows it: no page for one last line."""

from __future__ import annotations

from collections.abc import Sequence

from engine.exchange.typeset import Paper

#: Air over a system of music, in millimetres, the most first.
GAPS_MM = (5.0, 4.0, 3.0, 2.0)
#: What the foot of a page takes beside its margin.
_FOOT_MM = 3.5
#: The heading of a first page: the title, and each line more.
_TITLE_MM, _LINE_MM = 12.0, 8.0


def heading_mm(*lines: str) -> float:
    """The height of a first page's heading, with those lines under the title that are not empty."""
    return _TITLE_MM + _LINE_MM * sum(bool(line) for line in lines)


def pages_needed(heights: Sequence[float], paper: Paper, first: float) -> int:
    """How many pages blocks of these heights take when `first` is taken on the first page."""
    room = paper.height - 2 * paper.margin - _FOOT_MM
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
