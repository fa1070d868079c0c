"""Where lines begin: sections begin lines, four bars a line, no line of one bar."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from engine.song import Bar

BARS_A_LINE = 4


def section_letter(index: int) -> str:
    """A, B … Z, AA, AB …"""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def line_starts(bars: Sequence[Bar], a_line: int = BARS_A_LINE) -> frozenset[int]:
    """The bars that begin a line: sections do, `a_line` bars a line, and no line has one bar.

    A section of 4n + 1 bars ends in lines of three and two (for four a line).
    """
    sections: dict[int, list[int]] = defaultdict(list)
    for bar in bars:
        sections[bar.section].append(bar.number)
    starts: set[int] = set()
    for numbers in sections.values():
        at = 0
        for size in _line_sizes(len(numbers), a_line):
            starts.add(numbers[at])
            at += size
    return frozenset(starts)


def _line_sizes(count: int, a_line: int) -> list[int]:
    if count <= a_line:
        return [count]
    sizes = [a_line] * (count // a_line)
    rest = count % a_line
    if rest == 1 and a_line > 2:
        sizes[-1] -= 1
        rest = 2
    return [*sizes, rest] if rest else sizes
