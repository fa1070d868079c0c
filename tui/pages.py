"""The engraved score page by page, as pictures, in a terminal that can show them."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from importlib.util import find_spec

from textual import events
from textual.app import App, ComposeResult, SuspendNotSupported
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Static

from engine.workshop import Notice, Tone
from tui.commands import key_text
from tui.writing import engraved_pages

#: Makes a widget of a picture in PNG.
Picture = Callable[[bytes], Widget]
#: Finds how this terminal shows pictures; where it does not, says why.
Pictures = Callable[[App[int]], "Picture | str"]
_ELSEWHERE = "R writes the pages to a file: song.pdf, song.png"
_NEXT, _BEFORE = ("right", "n", "pagedown", "space"), ("left", "p", "pageup", "backspace")
_LEAVE = ("escape", "q", "O", "enter")


def terminal_pictures(app: App[int]) -> Picture | str:
    """How the terminal shows pictures, by its own answer, or a line that says why it does not.

    It can only be asked while the screen does not listen, so that is put aside
    for a moment.
    """
    if find_spec("textual_image") is None:
        return f"Pictures need a library: pip install textual-image; {_ELSEWHERE}"
    try:
        with app.suspend():
            from textual_image.renderable import Image as Best
            from textual_image.renderable import SixelImage, TGPImage
            from textual_image.widget import Image
    except SuspendNotSupported:
        return f"This terminal cannot be asked for pictures; {_ELSEWHERE}"
    if Best not in (SixelImage, TGPImage):
        return f"This terminal shows no pictures; {_ELSEWHERE}"
    return lambda data: Image(io.BytesIO(data))


async def show_pages(app: App[int], text: str, pictures: Pictures | None = None) -> Notice:
    """Show the pages of a song's score, or say why that cannot be."""
    picture = (pictures or terminal_pictures)(app)
    if isinstance(picture, str):
        return Notice(picture, Tone.REFUSAL)
    pages = await engraved_pages(text)
    if isinstance(pages, Notice):
        return pages
    app.push_screen(Pages(pages, picture))
    return Notice()


class Pages(Screen[None], inherit_bindings=False):
    """One page at a time, as wide as the terminal; up and down move over it."""

    DEFAULT_CSS = """
    Pages { background: $background; }
    Pages #page { height: 1fr; }
    Pages #page > * { width: 100%; height: auto; }
    Pages #foot { height: 1; color: $text-muted; }
    """

    def __init__(self, pages: Sequence[bytes], picture: Picture) -> None:
        super().__init__()
        self._pages = pages
        self._picture = picture
        self.page = 0

    def compose(self) -> ComposeResult:
        yield VerticalScroll(id="page", can_focus=False)
        yield Static(id="foot", markup=False)

    async def on_mount(self) -> None:
        await self._show(0)

    async def _show(self, page: int) -> None:
        self.page = page
        room = self.query_one("#page", VerticalScroll)
        await room.remove_children()
        await room.mount(self._picture(self._pages[page]))
        room.scroll_home(animate=False)
        keys = f"{key_text('left')} {key_text('right')} page · {key_text('up')} {key_text('down')} "
        self.query_one("#foot", Static).update(
            f" page {page + 1} of {len(self._pages)} · {keys}move · {key_text('escape')} back"
        )

    async def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        room = self.query_one("#page", VerticalScroll)
        if event.key in _LEAVE:
            self.dismiss()
        elif event.key in _NEXT and self.page + 1 < len(self._pages):
            await self._show(self.page + 1)
        elif event.key in _BEFORE and self.page > 0:
            await self._show(self.page - 1)
        elif event.key in ("up", "down"):
            step = max(1, room.size.height // 3)
            room.scroll_relative(y=step if event.key == "down" else -step, animate=False)
