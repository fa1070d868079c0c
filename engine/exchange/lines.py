"""Where lines begin: sections begin lines, four bars a line, no line of one bar."""

from __future__ import annotations

from collections.abc import Callable

BARS_A_LINE = 4


def section_letter(index: int) -> str:
    """A, B … Z, AA, AB …"""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _always(_low: int, _high: int) -> bool:
    return True


def line_sizes(
    count: int, fits: Callable[[int, int], bool] = _always, a_line: int = BARS_A_LINE
) -> list[int]:
    """How many of a section's bars stand on each line.

    At most `a_line`, fewer where `fits(low, high)` says that bars `low` up to
    `high` (from 0) have no room on one; at least two, but for a section of one
    bar. 4n + 1 bars end in lines of three and two.
    """
    sizes: list[int] = []
    at = 0
    while at < count:
        size = min(2, count - at)
        while size < a_line and at + size < count and fits(at, at + size + 1):
            size += 1
        sizes.append(size)
        at += size
    if len(sizes) > 1 and sizes[-1] == 1:
        if sizes[-2] > 2:
            sizes[-2:] = [sizes[-2] - 1, 2]
        else:
            sizes[-2:] = [3]
    return sizes
