"""The screen while the part is still that of a moment ago: every pane draws, nothing misplaced."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from engine.song import read_song
from engine.workshop import Cursor, Stages, Work, open_work, stages
from tests.tui.desk_helpers import after
from tui.commands import Keymap
from tui.view import Sounding, View
from tui.widgets.chart import draw_chart
from tui.widgets.chord import draw_chord
from tui.widgets.frame import draw_header, draw_keys_line, draw_transport
from tui.widgets.lane import draw_lane, lane_plan

SONG = """format = 1
title = "Two halves"
key = "C major"
meter = "4/4"
tempo = 80
right = "1 2 3 2 1 2 3 2"
left = "R . 5 ."

[[section]]
name = "First"
chart = "| C | Am F | Dm7 | G7 |"

[[section]]
name = "Second"
meter = "3/4"
chart = "| F | C/E | Dm7 G7 | C |"
right = "1 2 3 2 3 2"
left = "R 5 8"
"""


def opened() -> tuple[Work, Stages]:
    song = read_song(SONG)
    return open_work(song), stages(song, None)


def asked(name: str, text: str) -> list[str]:
    return [*f":{name}", "enter", "ctrl+u", *text, "enter"]


EDITS: dict[str, Callable[[Work], Work]] = {
    "another meter": lambda work: after(work, asked("meter of the song", "6/8")),
    "a shorter meter": lambda work: after(work, asked("meter of the song", "2/4")),
    "a longer meter": lambda work: after(work, asked("meter of the song", "12/8")),
    "a bar more": lambda work: after(work, "n"),
    "bars less": lambda work: after(work, "v→→d"),
    "a section more": lambda work: after(replace(work, cursor=Cursor(3, 0)), [
        *":begin a section", "enter", *"Bridge", "enter"]),
    "a bar divided": lambda work: after(work, "."),
    "another key": lambda work: after(work, "TEb⏎"),
}  # fmt: skip


@pytest.mark.parametrize("name", EDITS)
@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
def test_every_pane_draws_while_the_part_is_that_of_before(
    name: str, size: tuple[int, int]
) -> None:
    work, before = opened()
    edited = EDITS[name](work)
    assert edited.song != work.song
    width, height = size
    for bar in range(1, len(edited.song.bars) + 1):
        here = replace(edited, cursor=Cursor(bar, 0))
        view = View(here, before, Sounding(bar, Fraction(0), 0))
        plan = lane_plan(view, width)
        draw_lane(view, width, height // 2, plan)
        draw_chord(view, width // 3, height // 2)
        draw_chart(view, width * 2 // 3, height // 2, 0)
        draw_header(view, width)
        draw_transport(view, width)
        draw_keys_line(view, width, Keymap())


def test_no_note_is_drawn_at_a_time_that_is_no_longer_its_own() -> None:
    work, before = opened()
    edited = after(work, asked("meter of the song", "6/8"))
    view = View(replace(edited, cursor=Cursor(3, 0)), before)
    stale = draw_lane(view, 80, 12, lane_plan(view, 80)).text()
    assert "●" not in stale
    assert "Dm7" in stale  # the chords are there already
    fresh = View(view.work, stages(edited.song, before))
    assert "●" in draw_lane(fresh, 80, 12, lane_plan(fresh, 80)).text()
