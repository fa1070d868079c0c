"""The score's pages on the screen, turned by keys; without pictures a line says why."""

from __future__ import annotations

import asyncio
import struct
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widget import Widget
from textual.widgets import Static

from engine.workshop import Render
from tests.tui.desk_helpers import settled, typed, work_on, workshop
from tui import pages
from tui.app import Workshop
from tui.pages import Pages, Pictures
from tui.writing import write_part

CHART = "| [C] | Am F | Dm7 | G7 |" + " C | F | G | C |" * 11


def picture(data: bytes) -> Widget:
    """A stand-in for a picture: its size in pixels, read from the PNG's own header."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", data[16:24])
    return Static(f"{width} × {height}")


def shop(pictures: Pictures | None) -> Workshop:
    app = workshop(work_on(CHART))
    app._pictures = pictures
    return app


async def shown(pilot: Pilot[int]) -> Pages:
    for _ in range(2000):
        await pilot.pause()
        screen = pilot.app.screen
        if isinstance(screen, Pages) and screen.query("#page > Static"):
            return screen
        await asyncio.sleep(0.01)
    raise AssertionError("the pages never came")


def foot(screen: Pages) -> str:
    return str(screen.query_one("#foot", Static).content)


def test_pages_are_turned_by_keys_and_left_by_escape() -> None:
    async def test() -> None:
        app = shop(lambda _: picture)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await pilot.press("O")
            screen = await shown(pilot)
            assert "page 1 of 3" in foot(screen)
            size = str(screen.query_one("#page > Static", Static).content)
            assert size == "1191 × 1684"  # A4 at 144 pixels an inch
            await pilot.press("left")
            assert "page 1 of 3" in foot(screen)
            await pilot.press("right", "space", "right")
            assert "page 3 of 3" in foot(screen)
            await pilot.press("pageup")
            assert "page 2 of 3" in foot(screen)
            await pilot.press("escape")
            await pilot.pause()
            assert app.screen is app.desk
            await typed(pilot, "→")
            assert app.work.cursor.bar == 2

    asyncio.run(test())


@pytest.mark.parametrize(
    ("there", "words"),
    [(False, "pip install textual-image"), (True, "cannot be asked for pictures")],
)
def test_without_pictures_a_line_says_why_and_how_to_get_the_pages(
    there: bool, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A run without a terminal cannot be put aside to ask it."""

    async def test() -> None:
        app = shop(None)
        async with app.run_test(size=(160, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "O")
            for _ in range(100):
                await pilot.pause()
                if words in app.work.notice.text:
                    break
            assert words in app.work.notice.text
            assert "song.pdf" in app.work.notice.text
            assert app.screen is app.desk

    monkeypatch.setattr(pages, "find_spec", lambda _: object() if there else None)
    asyncio.run(test())


@pytest.mark.parametrize(
    ("name", "begins"),
    [("a.pdf", b"%PDF"), ("a.lead.pdf", b"%PDF"), ("a.md", b"# A trial"), ("a.txt", b"A trial")],
)
def test_a_files_name_says_which_sheet_is_written(name: str, begins: bytes, tmp_path: Path) -> None:
    text = Path(__file__).parents[2].joinpath("shared/songs/paper-lanterns.toml").read_text()
    song = text.replace("Paper Lanterns", "A trial")
    notice = asyncio.run(
        write_part(song, Render(str(tmp_path / name)), progress=lambda share: None)
    )
    assert notice.text.startswith("Written:")
    assert (tmp_path / name).read_bytes().startswith(begins)
