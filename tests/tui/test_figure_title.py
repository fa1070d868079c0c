"""The figure pane's title says which figures the bar has, and where the song's close is played."""

from dataclasses import replace

import pytest

from engine.song import read_song
from engine.workshop import Cursor, open_work, stages
from tui.view import View
from tui.widgets.lane import draw_lane, lane_plan

SONG = """
format = 1
title = "Closing"
key = "G minor"
meter = "4/4"
busy = 0.4
[[section]]
name = "A"
chart = "| Gm | Cm | D7 | Gm | Eb | Cm | D7 | Gm |"
right = "1 3 2 3"
"""


@pytest.mark.parametrize(
    ("bar", "title"),
    [(5, "figure ─ right: 1 3 2 3"), (6, "figure ─ the song’s close, not right: 1 3 2 3"),
     (8, "figure ─ the song’s close, not right: 1 3 2 3")],
)  # fmt: skip
def test_the_title_tells_where_the_close_is_played(bar: int, title: str) -> None:
    work = open_work(read_song(SONG))
    view = View(replace(work, cursor=Cursor(bar, 0)), stages(work.song))
    assert title in draw_lane(view, 100, 16, lane_plan(view, 100)).text().split("\n")[0]
