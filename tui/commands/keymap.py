"""Which keys do what, how keys are written for people, and what of them the footer shows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from engine.workshop import Pane, Work
from tui.commands.command import Command
from tui.commands.table import table


@dataclass(frozen=True, slots=True)
class Keymap:
    """Which keys do what: those of the table, changed by the user's own file."""

    keys: tuple[tuple[str, tuple[str, ...]], ...] = ()

    def keys_of(self, command: Command) -> tuple[str, ...]:
        """The keys of a command, the user's in place of ours."""
        return dict(self.keys).get(command.name, command.keys)

    def find(self, pane: Pane, key: str) -> Command | None:
        """The command of a key in a pane; one of that pane before one of all panes."""
        return _bound(self).get((pane, key))


@lru_cache(maxsize=8)
def _bound(keymap: Keymap) -> dict[tuple[Pane, str], Command]:
    bound: dict[tuple[Pane, str], Command] = {}
    for command in sorted(table(), key=lambda command: bool(command.panes)):
        for key in keymap.keys_of(command):
            for pane in Pane:
                if command.works_in(pane):
                    bound[pane, key] = command
    return bound


#: How keys are written for people.
SHOWN = {
    "space": "Space", "enter": "Enter", "tab": "Tab", "shift+tab": "Shift+Tab",
    "escape": "Esc", "up": "↑", "down": "↓", "left": "←", "right": "→", "pageup": "PgUp",
    "pagedown": "PgDn", "home": "Home", "end": "End", "backspace": "Backspace",
    "delete": "Del", "insert": "Ins",
}  # fmt: skip


def key_text(key: str) -> str:
    """A key as people read it: `Space`, `Ctrl+S`, `F2`, `+`."""
    if key in SHOWN:
        return SHOWN[key]
    held, plus, struck = key.partition("+")
    if held and plus and struck:
        return f"{held.capitalize()}+{key_text(struck) if len(struck) > 1 else struck.upper()}"
    return key.capitalize() if len(key) > 1 else key


def hints(work: Work, keymap: Keymap) -> tuple[tuple[str, str], ...]:
    """The footer: (key, word) of what works here and now, this pane's own first."""
    own = [command for command in table() if command.panes and command.works_in(work.pane)]
    rest = [command for command in table() if not command.panes]
    shown: list[tuple[str, str]] = []
    for command in (*own, *rest):
        keys = keymap.keys_of(command)
        if command.hint and keys and not command.reason(work) and command.hinted(work):
            word = "stop" if command.name == "play" and work.playing else command.hint
            key = "A–G" if command.name == "chord-a" else key_text(keys[0])
            shown.append(("+ -" if command.name == "slower" else key, word))
    return tuple(shown)
