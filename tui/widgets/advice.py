"""Advice in the chord pane: what speaks against a chord, and how a melody is typed."""

from __future__ import annotations

from fractions import Fraction

from engine.song import Bar, melody_unit
from engine.workshop import EntryKind, Ideas, typing
from tui.draw import Sheet, wrapped
from tui.view import View

#: Rows that a verdict takes at most.
VERDICT_ROWS = 4
#: How a melody is typed, the most needed first.
_ABC = (
    ("C D … B", "from middle C up"),
    ("c  C,", "an octave up, down"),
    ("A2  A/2", "twice, half as long"),
    ("z", "a rest"),
    ("|", "between bars"),
    ("^C _B =B", "sharp flat natural"),
    ("[w:la]", "words, behind notes"),
    ("A-", "tied to the next"),
)
_LENGTHS = {
    Fraction(1, 2): "a half note",
    Fraction(1, 4): "a quarter",
    Fraction(1, 8): "an eighth",
    Fraction(1, 16): "a sixteenth",
}


def is_of(weighed: Ideas, view: View, bar: Bar, onset: Fraction) -> bool:
    """Whether a verdict is of the chord that stands in the place shown."""
    ask, slot = weighed.ask, bar.slot_at(onset)
    standing = slot.chord is not None and slot.chord.symbol == ask.symbol
    here = (ask.bar, ask.slot) == (bar.number, bar.slots.index(slot))
    return standing and here and ask.song is view.work.shown


def draw_verdict(sheet: Sheet, y: int, weighed: Ideas) -> int:
    """What speaks against a chord from row y on, the worst first; returns the row after it."""
    until = y + VERDICT_ROWS
    if not weighed.against:
        sheet.put(1, y, weighed.trouble or "nothing speaks against it", "dim")
        return y + 1
    for text in weighed.against:
        for row, line in enumerate(wrapped(text, sheet.width - 4, until - y)):
            sheet.put(1, y, " " if row else "!", "refusal")
            sheet.put(3, y, line, "refusal")
            y += 1
    return y


def draw_singing(sheet: Sheet, view: View) -> bool:
    """How to type a melody, and what is wrong with it so far; False while none is typed."""
    entry = view.work.entry
    if entry is None or entry.kind is not EntryKind.MELODY:
        return False
    y, fault = 1, typing.fault(view.work)
    if fault is not None:
        for text, style in ((fault.message, "trouble"), (fault.cure, "")):
            for line in wrapped(text, sheet.width - 2, 3):
                sheet.put(1, y, line, style)
                y += 1
    unit = melody_unit(view.work.song, entry.at.bar)
    sheet.put(1, y, f"A letter lasts {_LENGTHS.get(unit, unit)}.")
    for row, (signs, text) in enumerate(_ABC, y + 1):
        sheet.put(1, row, signs, "bold")
        sheet.put(10, row, text, "dim")
    return True
