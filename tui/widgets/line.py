"""Small pieces that several panes draw: the rule over a pane, a line being typed."""

from __future__ import annotations

from engine.workshop import Entry, Fault, Pane
from tui.draw import Sheet, cut
from tui.view import View


def pane_rule(
    sheet: Sheet, view: View, pane: Pane, title: str, note: str = "", right: str = ""
) -> None:
    """The rule at the top of a pane: its name, marked where the hand is, a note; more at right."""
    here = view.work.pane is pane
    sheet.put(0, 0, "─" * sheet.width, "rule")
    x = sheet.put(1, 0, f" {'► ' if here else ''}{title} ", "focus" if here else "title")
    if note:
        sheet.put(x + 1, 0, f" {cut(note, sheet.width - x - 4 - len(right))} ", "dim")
    sheet.put(sheet.width - len(right) - 1, 0, right, "dim")


def draw_entry(
    sheet: Sheet, x: int, y: int, entry: Entry, fault: Fault | None = None, least: int = 6
) -> None:
    """A line being typed with its caret; what cannot be read is underlined.

    Where the line is wider than the sheet, it is shown around its caret.
    """
    width = max(1, sheet.width - x)
    text = entry.text + " "
    skip = max(0, entry.caret - width + 1)
    field = max(least, len(text))
    sheet.put(x, y, (text + " " * (field - len(text)))[skip:], "entry")
    if entry.fresh:
        sheet.paint(x, y, len(entry.text), "cursor-away")
    if fault is not None and entry.text:
        start, end = fault.span
        sheet.paint(x + start - skip, y, end - start, "fault")
    sheet.paint(x + entry.caret - skip, y, 1, "caret")
