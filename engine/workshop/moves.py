"""Moving about: the cursor over bars and chords, the selection, the pane under the hand."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from engine.song import Song
from engine.workshop.history import settle
from engine.workshop.work import Cursor, Pane, Work, refuse, say

BARS_A_LINE = 4


@lru_cache(maxsize=16)
def chart_lines(song: Song) -> tuple[tuple[int, ...], ...]:
    """Bar numbers line by line: four bars a line, each section beginning a line."""
    lines: list[tuple[int, ...]] = []
    line: list[int] = []
    for bar in song.bars:
        if line and (len(line) == BARS_A_LINE or bar.section != song.bars[line[0] - 1].section):
            lines.append(tuple(line))
            line = []
        line.append(bar.number)
    if line:
        lines.append(tuple(line))
    return tuple(lines)


def line_of(song: Song, bar: int) -> int:
    """Which line of the chart holds a bar, from 0."""
    for number, line in enumerate(chart_lines(song)):
        if line[0] <= bar <= line[-1]:
            return number
    return 0


def to(work: Work, cursor: Cursor) -> Work:
    """The cursor at a place."""
    return replace(settle(work, cursor), changed=frozenset())


def next_slot(work: Work) -> Work:
    """The next chord, over the bar line where need be."""
    if work.cursor.slot + 1 < len(work.bar.slots):
        return to(work, Cursor(work.cursor.bar, work.cursor.slot + 1))
    if work.cursor.bar == len(work.song.bars):
        return refuse(work, "This is the last chord")
    return to(work, Cursor(work.cursor.bar + 1, 0))


def previous_slot(work: Work) -> Work:
    """The chord before, over the bar line where need be."""
    if work.cursor.slot > 0:
        return to(work, Cursor(work.cursor.bar, work.cursor.slot - 1))
    if work.cursor.bar == 1:
        return refuse(work, "This is the first chord")
    before = work.song.bars[work.cursor.bar - 2]
    return to(work, Cursor(before.number, len(before.slots) - 1))


def by_lines(work: Work, count: int) -> Work:
    """So many lines of the chart down (up where negative), in the same column."""
    lines = chart_lines(work.song)
    here = line_of(work.song, work.cursor.bar)
    there = min(max(0, here + count), len(lines) - 1)
    if there == here:
        return refuse(work, "This is the first line" if count < 0 else "This is the last line")
    column = min(lines[here].index(work.cursor.bar), len(lines[there]) - 1)
    return to(work, Cursor(lines[there][column], 0))


def first_bar(work: Work) -> Work:
    return to(work, Cursor(1, 0))


def last_bar(work: Work) -> Work:
    return to(work, Cursor(len(work.song.bars), 0))


def next_section(work: Work) -> Work:
    """The first bar of the next section."""
    later = [bar.number for bar in work.song.bars if bar.section > work.bar.section]
    return to(work, Cursor(later[0], 0)) if later else refuse(work, "This is the last section")


def previous_section(work: Work) -> Work:
    """The first bar of this section, or of the one before."""
    starts = [bar.number for bar in work.song.bars if bar.in_section == 1]
    earlier = [number for number in starts if number < work.cursor.bar]
    return to(work, Cursor(earlier[-1], 0)) if earlier else refuse(work, "This is the first bar")


def select(work: Work) -> Work:
    """Begin a selection at the cursor, or give it up."""
    if work.anchor is not None:
        return say(replace(work, anchor=None), "Selection given up")
    return say(replace(work, anchor=work.cursor.bar), "Selecting: move to the last bar")


def select_section(work: Work) -> Work:
    """Select the section under the cursor, the cursor at its last bar."""
    bars = [bar.number for bar in work.song.bars if bar.section == work.bar.section]
    return to(replace(work, anchor=bars[0]), Cursor(bars[-1], 0))


def next_pane(work: Work) -> Work:
    panes = list(Pane)
    return replace(work, pane=panes[(panes.index(work.pane) + 1) % len(panes)])


def previous_pane(work: Work) -> Work:
    panes = list(Pane)
    return replace(work, pane=panes[panes.index(work.pane) - 1])
