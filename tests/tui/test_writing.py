"""A file written while the screen goes on: how far it is, and stopped by a key."""

from __future__ import annotations

import asyncio
import os
import signal
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
import soundfile
from textual.pilot import Pilot

from engine.errors import FileError
from engine.workshop import Notice, Render, Work, Writing
from tests.tui.desk_helpers import after, ran, run, settled, work_on, workshop
from tui.app import Workshop
from tui.practising import Practising
from tui.writing import write_part

CHART = "| [C] | Am F | Dm7 | G7 |"
LONG = """format = 1
title = "Long"
key = "C major"
meter = "4/4"
tempo = 40
right = "1 2 3 2 1 2 3 2"

[[section]]
name = "A"
chart = \"\"\"
{lines}
\"\"\"
"""


async def until(pilot: Pilot[int], done: Callable[[], bool]) -> None:
    for _ in range(4000):
        await pilot.pause()
        if done():
            return
        await asyncio.sleep(0.005)
    raise AssertionError("never happened")


def keys(text: str) -> list[str]:
    return ["R", "ctrl+u", *text, "enter"]


def asked(text: str) -> tuple[Work, list[object]]:
    work, effects = ran(work_on(CHART), keys(text))
    return work, list(effects)


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("a.wav", Render("a.wav")),
        ("my song.mid", Render("my song.mid")),
        ("a.ogg left 60", Render("a.ogg", ("--hands", "left", "--tempo", "60"))),
        ("a b.flac 2-3 click count-in",
         Render("a b.flac", ("--bars", "2-3", "--click", "--count-in"))),
        ("a.lead.pdf", Render("a.lead.pdf")),
        ("a.md", Render("a.md")),
    ],
)  # fmt: skip
def test_what_goes_into_the_file_stands_behind_its_name(typed: str, wanted: Render) -> None:
    work, effects = asked(typed)
    assert effects == [wanted]
    assert work.writing == Writing(wanted.path)


def test_a_word_that_says_nothing_of_a_file_leaves_the_line_open() -> None:
    work, effects = asked("a.wav loud")
    assert (effects, work.writing) == ([], None)
    assert work.entry is not None
    assert work.notice.text.startswith("“loud” says nothing; write left, right, ")


@pytest.mark.parametrize("word", ["click", "count-in"])
def test_a_click_is_not_asked_of_paper(word: str) -> None:
    work, effects = asked(f"a.pdf 60 {word}")
    assert (effects, work.writing) == ([], None)
    assert work.notice.text == f"“{word}” cannot be put on paper; leave it out"


@pytest.mark.parametrize("typed", ["a.wav left right", "a.wav 60 72", "a.wav click 60 click"])
def test_what_is_said_twice_of_a_file_is_asked_back(typed: str) -> None:
    work, effects = asked(typed)
    assert (effects, work.writing) == ([], None)
    assert work.notice.text.endswith("say the same thing twice; leave one out")


def test_one_file_is_written_at_a_time_and_escape_stops_it() -> None:
    first, _ = asked("a.wav")
    again, effects = ran(first, keys("b.wav"))
    assert effects == []
    assert again.notice.text == "a.wav is still being written; Esc stops it"
    stopped = after(first, "⎋")
    assert stopped.writing is None
    assert stopped.notice.text == "Stopped: a.wav is not written"
    tired = replace(first, caution="Take five minutes off")
    assert after(tired, "⎋").writing is None  # it says that Esc stops it
    assert after(tired, "⎋").caution


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_the_screen_says_how_far_it_is_and_stops_at_escape(
    size: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    ended: list[str] = []

    async def endless(_text: str, asked: Render, *_: object, **told: Callable[..., object]) -> None:
        told["progress"](0.42)
        try:
            await asyncio.sleep(60)
        finally:
            ended.append(asked.path)

    monkeypatch.setattr("tui.app.write_part", endless)

    async def test() -> None:
        app: Workshop = workshop(work_on(CHART))
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            await pilot.press(*keys("long.wav"))
            await until(pilot, lambda: "Writing long.wav: 42 % (Esc stops it)" in app.desk.text())
            await pilot.press("escape")
            await until(pilot, lambda: ended == ["long.wav"])
            assert "Stopped: long.wav is not written" in app.desk.text()
            assert app.work.writing is None

    run(test)


def test_a_sound_tells_its_per_cents_and_stopped_it_leaves_nothing(tmp_path: Path) -> None:
    text = LONG.format(lines="| C | Am | F | G7 |\n" * 40)
    told: list[float] = []

    async def begun() -> None:
        writing = asyncio.create_task(
            write_part(text, Render(str(tmp_path / "long.wav")), progress=told.append)
        )
        while not told:
            await asyncio.sleep(0.01)
        assert len(list(tmp_path.iterdir())) == 1  # the half-made file
        writing.cancel()
        with pytest.raises(asyncio.CancelledError):
            await writing

    asyncio.run(begun())
    assert 0 < told[0] < 1
    assert list(tmp_path.iterdir()) == []


def test_hands_apart_slowly_from_the_screen(tmp_path: Path) -> None:
    text = LONG.format(lines="| C | F |")
    told: list[float] = []

    def seconds(name: str, *how: str) -> float:
        notice = asyncio.run(
            write_part(text, Render(str(tmp_path / name), how), progress=told.append)
        )
        assert notice == Notice(f"Written: {tmp_path / name}")
        return float(soundfile.info(tmp_path / name).duration)

    whole, slow = seconds("a.wav"), seconds("b.wav", "--hands", "left", "--tempo", "20")
    assert slow > 1.5 * whole
    assert told[-1] > 0.9


def test_a_program_that_is_killed_while_it_plays_loses_a_minute_at_most(tmp_path: Path) -> None:
    """Killed as the system kills: nothing can be written any more."""
    day = date(2026, 3, 1)
    song = str(tmp_path / "song.toml")
    child = os.fork()
    if not child:
        log = Practising(song, lambda: day, tmp_path)
        for _ in range(30 * 190):
            log.played(1 / 30)
        os.kill(os.getpid(), signal.SIGKILL)
    os.waitpid(child, 0)
    assert 2.9 <= Practising(song, lambda: day, tmp_path).log.minutes_on(day) <= 3.2


def test_minutes_that_could_not_be_written_are_written_later(tmp_path: Path) -> None:
    day, song, folder = date(2026, 3, 1), str(tmp_path / "song.toml"), tmp_path / "log"
    log = Practising(song, lambda: day, folder)
    assert log.today() == "today 0 min"
    folder.write_text("no folder")
    for _ in range(130):
        log.played(1)
    with pytest.raises(FileError):
        log.stopped()
    folder.unlink()
    log.stopped()
    assert Practising(song, lambda: day, folder).log.minutes_on(day) == pytest.approx(
        2.17, abs=0.01
    )
