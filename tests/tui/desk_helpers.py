"""Songs with a cursor drawn in them, keys pressed on them, and the same drawn again."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from dataclasses import replace

from textual.pilot import Pilot

from engine.play import Player
from engine.song import read_song
from engine.workshop import (
    Cursor,
    Effect,
    Find,
    Work,
    answer,
    open_work,
    performance_of,
    stages,
)
from tui.app import Workshop
from tui.commands import Keymap
from tui.keys import press
from tui.lists import found
from tui.maker import Make, Perform
from tui.settings import Options

SONG = """format = 1
title = "A trial"
key = "{key}"
meter = "{meter}"
tempo = 80
right = "1 2 3 2 1 2 3 2"
left = "R . . ."

[[section]]
name = "First"
chart = "{chart}"
"""
NAMED = {
    " ": "space", "⏎": "enter", "⇥": "tab", "⎋": "escape", "←": "left", "→": "right", "↑": "up",
    "↓": "down", "⌫": "backspace", "⌦": "delete", "⇤": "home",
}  # fmt: skip


def work_on(drawn: str, *, key: str = "C major", meter: str = "4/4") -> Work:
    """The work on a chart whose cursor is drawn as `[chord]`; the song is as if just saved."""
    chart = drawn.replace("[", "").replace("]", "")
    song = read_song(SONG.format(chart=chart, key=key, meter=meter))
    work = open_work(song)
    cells = [cell.split() for cell in drawn.strip().strip("|").split("|")]
    for number, cell in enumerate(cells, 1):
        chords = [word for word in cell if word != "."]
        for slot, word in enumerate(chords):
            if word.startswith("["):
                return replace(work, cursor=Cursor(number, slot))
    return work


def drawn(work: Work) -> str:
    """The chart with the cursor as `[chord]`; sections are divided by `||`."""
    lines = []
    for index in range(len(work.song.sections)):
        cells = []
        for bar in work.song.bars:
            if bar.section != index:
                continue
            words = []
            for slot_number, slot in enumerate(bar.slots):
                here = (bar.number, slot_number) == tuple(work.cursor)
                typed = "%" if bar.repeats else slot.typed
                words.append(f"[{typed}]" if here else typed)
            cells.append("%" if bar.repeats and "[%]" not in words else " ".join(words))
        lines.append("| " + " | ".join(cells) + " |")
    return " ".join(lines)


def after(work: Work, keys: str | list[str]) -> Work:
    """The work after keys: characters, the signs of `NAMED`, or names in a list."""
    return ran(work, keys)[0]


def ran(work: Work, keys: str | list[str]) -> tuple[Work, list[Effect]]:
    """The work after keys, and everything it asked for; what is looked for is found at once."""
    effects: list[Effect] = []
    for key in keys:
        name = NAMED.get(key, key)
        character = " " if key == " " else (key if len(key) == 1 and key not in NAMED else None)
        work, asked = press(work, name, character, Keymap())
        for effect in asked:
            if isinstance(effect, Find):
                work, more = found(work, answer(effect.ask), Keymap())
                effects += more
            else:
                effects.append(effect)
    return work, effects


def workshop(
    work: Work,
    player: Player | None = None,
    *,
    colours: str = "theme",
    ascii_only: bool = False,
    make: Make = stages,
    perform: Perform = performance_of,
) -> Workshop:
    """The screen on a work, without a sound device, nothing glowing, colours of the theme."""
    chosen = Options(colours=colours, ascii=ascii_only)
    return Workshop(work, player or Player(), chosen, glow_seconds=0, make=make, perform=perform)


async def settled(pilot: Pilot[int]) -> None:
    """Wait until the stages of the song on the screen are there and drawn."""
    app = pilot.app
    assert isinstance(app, Workshop)
    for _ in range(1000):
        await pilot.pause()
        if (
            app.maker.idle
            and app.finder.idle
            and app.stages.song == app.work.shown
            and app.stages.part is not None
        ):
            await pilot.pause()
            return
        await asyncio.sleep(0.005)
    raise AssertionError("the stages of the song were never made")


async def typed(pilot: Pilot[int], text: str) -> None:
    """Press the keys of a text; Enter is written ⏎ and the other signs of `NAMED`."""
    await pilot.press(*(NAMED.get(key, key) for key in text))
    await settled(pilot)


def run(test: Callable[[], Coroutine[object, object, None]]) -> None:
    """Run a test that waits for the screen."""
    asyncio.run(test())
