"""The one widget: it shows a sheet, repaints the rows that changed, and splices the playhead in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from tui.draw import Sheet, strip_of


class _Row(Strip):
    """A row that is gone once it is painted.

    A strip that is asked to divide itself into itself remembers the answer, and so keeps itself
    alive: at thirty pictures a second, clearing those away would halt keys and music's threads.
    """

    def divide(self, cuts: Iterable[int]) -> Sequence[Strip]:
        found = [cut for cut in cuts if cut <= self.cell_length]
        return [self] if found == [self.cell_length] else super().divide(found)


Look = Callable[[], tuple[Mapping[str, Style], bool]]


class Canvas(Widget, can_focus=False):
    """Shows a `Sheet`. `look` gives the styles and whether signs are plain ASCII.

    The playhead is one column of some rows, drawn over the sheet's cached
    strips, so that its moves repaint two columns and nothing else.
    """

    DEFAULT_CSS = "Canvas { height: 1; width: 100%; }"

    def __init__(self, look: Look, *, id: str) -> None:  # noqa: A002 - Textual's name
        super().__init__(id=id)
        self._look = look
        self._sheet = Sheet(0, 0)
        self._strips: dict[int, Strip] = {}
        self._head: tuple[int, int, int] | None = None

    @property
    def sheet(self) -> Sheet:
        """What is shown."""
        return self._sheet

    def show(self, sheet: Sheet) -> None:
        """Show a sheet in place of the one before; only rows that differ are painted."""
        before, self._sheet = self._sheet, sheet
        if (before.width, before.height) != (sheet.width, sheet.height):
            self._strips.clear()
            self.refresh()
            return
        for y in range(sheet.height):
            if before.rows[y] != sheet.rows[y] or before.styles[y] != sheet.styles[y]:
                self._strips.pop(y, None)
                self.refresh(Region(0, y, sheet.width, 1))

    def set_head(self, column: int | None, first: int = 0, last: int = 0) -> None:
        """Put the playhead on a column of rows `first` to `last`, or take it away."""
        head = None if column is None else (column, first, last)
        if head == self._head:
            return
        for place in (self._head, head):
            if place is not None:
                self.refresh(Region(place[0], place[1], 1, place[2] - place[1] + 1))
        self._head = head

    def restyle(self) -> None:
        """Paint everything again: colours or signs changed."""
        self._strips.clear()
        self.refresh()

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self._strips.clear()

    def render_lines(self, crop: Region) -> list[Strip]:
        """The rows of a region as they are painted."""
        return [_Row(row, row.cell_length) for row in super().render_lines(crop)]

    def render_line(self, y: int) -> Strip:
        """One row, the playhead spliced in."""
        sheet = self._sheet
        styles, plain = self._look()
        if y >= sheet.height:
            return Strip.blank(self.size.width, styles[""])
        strip = self._strips.get(y)
        if strip is None:
            strip = self._strips[y] = strip_of(sheet, y, styles, plain=plain)
        if self._head is not None and self._head[1] <= y <= self._head[2]:
            column = self._head[0]
            if column < sheet.width:
                cell = Strip([Segment(strip.crop(column, column + 1).text, styles["head"])], 1)
                strip = Strip.join([strip.crop(0, column), cell, strip.crop(column + 1)])
        return strip
