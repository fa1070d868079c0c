"""Where the panes stand for a size of the terminal."""

from __future__ import annotations

from dataclasses import dataclass

from engine.workshop import Pane

#: Below either of these one pane is shown at a time.
LEAST_WIDTH, LEAST_HEIGHT = 72, 20
CHORD_WIDTH, LANE_ROWS = 29, 11


@dataclass(frozen=True, slots=True)
class Places:
    """Width and height of each pane that is shown, and whether only one is."""

    panes: dict[Pane, tuple[int, int]]
    single: bool


def is_roomy(width: int, height: int) -> bool:
    """Whether a chord pane of this size holds whole sentences, and terms in words."""
    return height >= (12 if width >= 40 else 16)


def places(
    width: int, height: int, pane: Pane, chart_rows: int, *, stepping: bool = False
) -> Places:
    """The panes' sizes: three lines are left for title, transport and keys.

    The chart gets the rows that it would have, within what the figure pane leaves. A chord pane
    that is not roomy takes the figure pane's rows while the hand is in it, except in step mode.
    """
    room = max(1, height - 3)
    if width < LEAST_WIDTH or height < LEAST_HEIGHT:
        return Places({pane: (width, room)}, single=True)
    chord = CHORD_WIDTH if width < 92 else min(56, width * 3 // 8)
    lane = max(LANE_ROWS, min(room * 9 // 20, 22))
    upper = min(room - lane, max(10, chart_rows, 15 if height >= 34 else 9))
    if pane is Pane.CHORD and not is_roomy(chord, upper) and not stepping:
        upper = room
    panes = {Pane.CHART: (width - chord - 1, upper), Pane.CHORD: (chord, upper)}
    if upper < room:
        panes[Pane.FIGURE] = (width, room - upper)
    return Places(panes, single=False)
