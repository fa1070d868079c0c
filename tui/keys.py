"""From a pressed key to the next state of the work: the line, the list, then the command table."""

from __future__ import annotations

from dataclasses import replace

from engine.workshop import (
    EDITING,
    EntryKind,
    Find,
    Notice,
    Outcome,
    Work,
    refuse,
    reharmonise,
    stepping,
    typing,
)
from engine.workshop.entry import edit, insert
from tui import lists
from tui.commands import Keymap, key_text

#: Commands after which a warning given once still counts.
_WARNED = frozenset({"quit", "save"})


def press(work: Work, key: str, character: str | None, keymap: Keymap) -> Outcome:
    """The state after a key, by Textual's name and the character it types, if any.

    While a line or a list is open, keys belong to it. A chord that is typed is weighed.
    """
    outcome = _pressed(work, key, character, keymap)
    ask = reharmonise.weighing(outcome.work, outcome.work.entry)
    if ask is None or ask == reharmonise.weighing(work, work.entry):
        return outcome
    return Outcome(outcome.work, (*outcome.effects, Find(ask)))


def _pressed(work: Work, key: str, character: str | None, keymap: Keymap) -> Outcome:
    if work.entry is not None:
        return _in_line(work, key, character)
    if work.chooser is not None:
        return lists.press(work, key, character, keymap)
    if work.steps is not None and key in ("space", "right", "left", "enter"):
        return stepping.step_on(work, -1 if key == "left" else 1)
    name = character if character and character.isprintable() and key != "space" else key
    command = keymap.find(work.pane, name)
    if command is None:
        return Outcome(refuse(work, f"{key_text(name)} does nothing here: ? shows the keys"))
    reason = command.reason(work)
    if reason:
        return Outcome(refuse(work, reason))
    calm = work if command.name in _WARNED else replace(work, leaving=False, overwrite="")
    result = command.run(replace(calm, notice=Notice()))
    return result if isinstance(result, Outcome) else Outcome(result)


def paste(work: Work, text: str) -> Outcome:
    """The state after text from the clipboard: into the open line, else as a chord's."""
    line = " ".join(text.split())
    opened = work if work.entry is not None else typing.begin_chord(work)
    assert opened.entry is not None
    return Outcome(typing.grown(opened, insert(opened.entry, line)))


def _in_line(work: Work, key: str, character: str | None) -> Outcome:
    entry = work.entry
    assert entry is not None
    if key == "enter":
        return typing.accept(work)
    if key == "escape":
        return Outcome(typing.cancel(work))
    if key == "tab":
        return Outcome(typing.take_better(work))
    if key in EDITING:
        if key == "backspace" and not entry.text and entry.kind is EntryKind.CHORD:
            return Outcome(typing.cancel(work))
        return Outcome(typing.grown(work, edit(entry, key)))
    if character and character.isprintable():
        return Outcome(typing.grown(work, insert(entry, character)))
    return Outcome(refuse(work, f"{key_text(key)} does nothing in a line: Enter takes it"))
