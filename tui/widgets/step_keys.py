"""What step mode shows under the lane: the notes to strike, hand by hand, on a wide keyboard."""

from __future__ import annotations

from engine.pitch import Pitch
from engine.song import Hand
from tui.draw import Sheet
from tui.view import View
from tui.widgets.keys import draw_keys

#: Rows it takes: the notes in words, two rows of keys, the fingers.
ROWS = 4


def draw_step_keys(sheet: Sheet, view: View, y: int) -> None:
    """The group of step mode from row y on; what the MIDI keyboard struck is marked."""
    steps = view.work.steps
    if steps is None:
        return
    notes = steps.group.notes
    x = 1
    for hand in (Hand.LEFT, Hand.RIGHT):
        own = [note for note in notes if note.hand is hand]
        if not own:
            continue
        x = sheet.put(x, y, f"{hand.value} hand ", "faint")
        for note in own:
            done = note.pitch.midi in steps.right
            x = sheet.put(x, y, note.pitch.symbol, "good" if done else "bold")
            x = sheet.put(x, y, f" ({note.finger})  " if note.finger else "  ", "dim")
        x += 1
    wrong = sorted(steps.wrong)
    if wrong:
        key = view.bar.key
        names = " ".join(Pitch.at_or_above(key.spell(midi % 12), midi).symbol for midi in wrong)
        sheet.put(x, y, f"not {names}", "trouble")
    every = [key for group in steps.groups for key in group.keys]
    pressed = {note.pitch: note.finger for note in notes}
    draw_keys(
        sheet, y + 1, pressed, x=1, width=sheet.width - 2, fingers=True,
        around=(min(every), max(every)), octaves=True, right=steps.right, wrong=steps.wrong,
    )  # fmt: skip
