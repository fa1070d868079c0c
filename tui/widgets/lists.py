"""Drawn lists: beside the chart for figures and chords, over the panes for commands and keys."""

from __future__ import annotations

from engine.workshop import About, Chooser, Extent, ListKind, practice
from tui.commands import Keymap
from tui.draw import Sheet, cut, wrapped
from tui.item import Item
from tui.lists import BESIDE, items
from tui.view import View

#: Columns that the keys take in the lists of commands and keys, and in narrow ones.
KEYS, FEW_KEYS = 16, 11
NARROW = 70
#: Rows below a list for what its lines have no room for, in lists that are as tall as this.
TOLD, TALL = 2, 10
#: Lines that a list beside the chart keeps, however long the reason below them is.
FEWEST = 2
#: Lists whose details stand in line: the columns of their keys and of their labels.
IN_LINE = {ListKind.PLAN: (6, 29), ListKind.DIALS: (1, 37)}


def draw_list(view: View, width: int, height: int, keymap: Keymap) -> Sheet:
    """The open list in a frame of its own, the line under the hand always in sight."""
    sheet = Sheet(width, height)
    chooser = view.work.chooser
    if chooser is None:
        return sheet
    found = items(view.work, keymap)
    sheet.put(0, 0, "─" * width, "rule")
    x = sheet.put(1, 0, f" {_title(view, chooser)} ", "focus")
    if chooser.query:
        sheet.put(x + 1, 0, f" {chooser.query}… ", "bold")
    elif chooser.kind is ListKind.CHORDS:
        _nearness(sheet, x, view.work.nearness)
    columns = IN_LINE.get(chooser.kind, (KEYS if width >= NARROW else FEW_KEYS, 0))
    index = min(chooser.index, max(0, len(found) - 1))
    beside = chooser.kind in BESIDE
    least = min(5, max(3, height * 2 // 5))
    foot = max(least, min(9, height - 1 - len(found))) if beside else 0
    if beside and found:  # the reason stands whole, at the cost of the lines that are not under it
        reason = len(wrapped(_reason(found[index]), width - 2, height))
        foot = max(foot, min(reason, height - 1 - FEWEST))
    if not beside and height >= TALL and any(_told(item, width, columns) for item in found):
        foot = TOLD + 1
    room = max(1, height - 1 - foot)
    top = min(max(0, index - room // 2), max(0, len(found) - room))
    if not found:
        query = cut(chooser.query, max(1, width - 18))
        sheet.put(2, 1, f"nothing fits “{query}”" if query else "nothing fits", "dim")
    for row, item in enumerate(found[top : top + room]):
        _item(sheet, 1 + row, item, picked=top + row == index, beside=beside, columns=columns)
    if beside and index and found and chooser.kind is not ListKind.FIGURES:
        _letters(sheet, view, index - top, first=top == 0)
    if beside and found:
        _detail(sheet, found[index], height - foot)
    elif found and foot and (told := _told(found[index], width, columns)):
        for row, line in enumerate(wrapped(told, width - 4, TOLD)):
            sheet.put(2, height - TOLD + row, line, "dim")
    return sheet


def _told(item: Item, width: int, columns: tuple[int, int]) -> str:
    """What of a line has no room in it: told below the list, once the hand is on it."""
    keys, labels = columns
    note = item.refusal or (item.detail if labels else "")
    if len(item.label) > width - keys - 2:
        return f"{item.label}: {note}" if note else item.label
    return note if max(keys + len(item.label), keys + labels) + 4 + len(note) > width else ""


def _title(view: View, chooser: Chooser) -> str:
    if chooser.kind is ListKind.FIGURES:
        return f"{chooser.hand} hand, {chooser.extent}"
    if chooser.kind is ListKind.CHORDS and chooser.ask is not None:
        ask = chooser.ask
        if ask.about is About.BARS:
            return f"bars {practice.shown((ask.bar, ask.last))}"
        return f"whole bar {ask.bar}" if ask.about is About.BAR else f"bar {ask.bar}"
    found = view.work.sitting
    if chooser.kind is ListKind.PLAN and found is not None:
        where = str(found.extent)
        if found.extent is Extent.BAR and found.blocks:
            first = min(block.bars[0] for block in found.blocks)
            last = max(block.bars[1] for block in found.blocks)
            where = f"bar{'s' if last > first else ''} {practice.shown((first, last))}"
        return f"practice plan: {where}, {found.minutes} minutes; {view.today()}"
    return str(chooser.kind)


def _nearness(sheet: Sheet, x: int, nearness: float) -> None:
    """How far from the present harmony the list goes, `near ▮▮▯▯ far`, as much as fits."""
    filled = round(nearness * 4)
    bars = "▮" * filled + "▯" * (4 - filled)
    for text in (f" near {bars} far ", f" {bars} "):
        if x + len(text) < sheet.width:
            sheet.put(sheet.width - len(text) - 1, 0, text, "dim")
            return


def _letters(sheet: Sheet, view: View, row: int, *, first: bool) -> None:
    """A beside what stands, B beside what is tried out; the one that is heard is marked."""
    tried = view.work.trial is not None
    sheet.put(sheet.width - 3, 1 + row, "►B" if tried else " B", "picked")
    if first:
        sheet.put(sheet.width - 3, 1, "►A" if not tried else " A", "bold" if not tried else "dim")


def _item(
    sheet: Sheet, y: int, item: Item, *, picked: bool, beside: bool, columns: tuple[int, int]
) -> None:
    if item.heading:
        sheet.put(2, y, item.label, "bold")
        return
    style = "off" if item.refusal else ""
    if picked:
        sheet.put(0, y, " " * sheet.width, "picked")
        style = "picked"
    if beside:
        x = sheet.put(1, y, cut(item.label, sheet.width - 2), style)
        if item.keys:
            sheet.put(max(x + 2, 12), y, item.keys, style or "dim")
        return
    keys, labels = columns
    sheet.put(1 if labels else 2, y, _whole(item.keys, keys - 3), style or "key", until=keys)
    text = cut(item.label, sheet.width - keys - 2)
    x = sheet.put(keys, y, text, style)
    note = item.refusal or item.detail
    x = max(x, keys + labels)
    if not labels and not item.refusal and x + 4 + len(note) > sheet.width:
        return  # half of the group's name says less than none
    if note and x + 3 < sheet.width:
        sheet.put(x + 3, y, cut(note, sheet.width - x - 4), style or "faint")


def _whole(keys: str, room: int) -> str:
    """The keys that fit, whole; the first in any case."""
    first, *more = keys.split(" ")
    for key in more:
        if len(first) + 1 + len(key) > room:
            break
        first = f"{first} {key}"
    return first


def _reason(item: Item) -> str:
    """What stands under a list beside the chart: why its line is there, or cannot be taken."""
    return item.refusal or item.detail


def _detail(sheet: Sheet, item: Item, y: int) -> None:
    for row, line in enumerate(wrapped(_reason(item), sheet.width - 2, sheet.height - y)):
        sheet.put(1, y + row, line, "dim")
