"""Pictures of the key screens, compared as SVG: what changes on the screen must be meant."""

from __future__ import annotations

from dataclasses import replace
from typing import Protocol

import pytest
from textual.app import App
from textual.pilot import Pilot

from engine.song import read_song, set_melody
from engine.workshop import Cursor, Work, open_work
from tests.tui.desk_helpers import NAMED, settled, workshop
from tests.tui.still_life import still_stages, unplayed

SONG = """format = 1
title = "Cellar Window"
key = "Eb major"
meter = "4/4"
tempo = 66
right = "1 2 3 2 1 2 3 2"
left = "R . 5 ."

[[section]]
name = "Verse"
chart = \"\"\"
| Eb   | Bb/D    | Cm . . Cm/Bb | Ab  |
| Eb/G | Abm6    | Bb7sus4 Bb7  | %   |
\"\"\"
arc = "p < mf"

[[section]]
name = "Close"
chart = "| Ab  G7/B | Cm  F7/A | Fm7/Ab Bb7 | Eb |"
left = "R . . ."
arc = "mf > pp"
busy = 0.2
"""


class Compare(Protocol):
    def __call__(
        self, app: App[int], *, terminal_size: tuple[int, int], run_before: object
    ) -> bool: ...


def work() -> Work:
    return open_work(read_song(SONG), path="cellar-window.toml")


def sung() -> Work:
    return replace(work(), song=set_melody(work().song, 1, 3, "B4 G4|F6 D2|E4 c4"))


SCREENS = {
    "chart_80": ((80, 24), work(), ""),
    "chart_120": ((120, 40), work(), "→→→"),
    "applied_chord": ((120, 40), replace(work(), cursor=Cursor(9, 1)), ""),
    "typing_fault": ((80, 24), work(), "→Ebmajj"),
    "selection_and_loop": ((80, 24), work(), "→lv→→"),
    "figure_list": ((80, 24), work(), "f↓↓"),
    "palette": ((80, 24), work(), ":loop"),
    "keys": ((80, 24), work(), "?"),
    "tokens": ((80, 24), work(), "e"),
    "dials": ((80, 24), work(), "lP↓↓→"),
    "steps": ((80, 24), work(), "wHHH"),  # a change of hands steps through the still part
    "small_steps": ((60, 20), work(), "⇥⇥wHHH→"),
    "melody_typed": ((120, 40), sung(), "→UF2_A4"),
    "small_chart": ((60, 20), work(), ""),
    "small_figure": ((60, 20), work(), "⇥⇥"),
}


@pytest.mark.parametrize("name", SCREENS)
def test_screen(name: str, snap_compare: Compare) -> None:
    size, start, keys = SCREENS[name]
    app = workshop(start, make=still_stages, perform=unplayed)
    assert snap_compare(app, terminal_size=size, run_before=_pressing(keys))


def test_no_colour(snap_compare: Compare) -> None:
    app = workshop(work(), colours="none", make=still_stages, perform=unplayed)
    assert snap_compare(app, terminal_size=(80, 24), run_before=_pressing("→"))


def _pressing(keys: str) -> object:
    async def before(pilot: Pilot[int]) -> None:
        await settled(pilot)
        await pilot.press(*(NAMED.get(key, key) for key in keys))
        await settled(pilot)

    return before
