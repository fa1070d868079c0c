"""Every default binding, as the bytes a legacy terminal sends, through Textual's own parser.

What terminals can send is laid down in xterm's control sequences (Thomas E. Dickey, "XTerm
Control Sequences", PC-style function keys) and ECMA-48.
"""

from __future__ import annotations

import pytest
from textual import events
from textual._xterm_parser import XTermParser

from engine.workshop import Pane
from tui.commands import Command, Keymap, key_text, table

NAMED = {
    "space": b" ", "enter": b"\r", "tab": b"\t", "shift+tab": b"\x1b[Z", "escape": b"\x1b",
    "backspace": b"\x7f", "delete": b"\x1b[3~", "up": b"\x1b[A", "down": b"\x1b[B",
    "right": b"\x1b[C", "left": b"\x1b[D", "home": b"\x1b[H", "end": b"\x1b[F",
    "pageup": b"\x1b[5~", "pagedown": b"\x1b[6~", "f2": b"\x1bOQ",
}  # fmt: skip
BOUND = [(command, key) for command in table() for key in command.keys]


def sent(key: str) -> bytes:
    """The bytes of a key without any keyboard protocol."""
    if key in NAMED:
        return NAMED[key]
    if key.startswith("ctrl+"):
        return bytes([ord(key[5:].upper()) - 64])
    assert len(key) == 1, f"no legacy terminal sends {key}"
    return key.encode()


def pressed(data: bytes) -> list[events.Key]:
    """The key events that the parser makes of bytes, the end of input flushed as time does."""
    parser = XTermParser()
    found = [*parser.feed(data.decode()), *parser.feed("")]
    return [event for event in found if isinstance(event, events.Key)]


@pytest.mark.parametrize(("command", "key"), BOUND, ids=[f"{c.name}:{k}" for c, k in BOUND])
def test_the_bytes_of_every_binding_reach_its_command(command: Command, key: str) -> None:
    found = pressed(sent(key))
    assert len(found) == 1
    event = found[0]
    printable = event.character and event.character.isprintable() and event.key != "space"
    name = event.character if printable and event.character else event.key
    panes = [pane for pane in Pane if command.works_in(pane)]
    reached = [Keymap().find(pane, name) for pane in panes]
    # A pane's own command may stand before one of all panes, but somewhere the key means this one.
    assert command in reached


def test_every_key_means_one_thing_in_a_pane() -> None:
    for pane in Pane:
        for own in (True, False):
            keys = [
                key
                for command in table()
                if bool(command.panes) is own and command.works_in(pane)
                for key in command.keys
            ]
            assert len(keys) == len(set(keys))


def test_names_and_titles_are_unique() -> None:
    names = [command.name for command in table()]
    titles = [command.title for command in table()]
    assert len(set(names)) == len(names)
    assert len(set(titles)) == len(titles)


def test_help_and_quit_have_plain_letters() -> None:
    found = {command.name: command.keys for command in table()}
    assert any(len(key) == 1 and key.isalpha() for key in found["keys"])
    assert any(len(key) == 1 and key.isalpha() for key in found["quit"])


@pytest.mark.parametrize(
    ("key", "text"),
    [("+", "+"), ("ctrl+s", "Ctrl+S"), ("ctrl+left", "Ctrl+←"), ("shift+up", "Shift+↑"),
     ("alt+left", "Alt+←"), ("f2", "F2"), ("ctrl+f5", "Ctrl+F5"), ("insert", "Ins"), ("f", "f")],
)  # fmt: skip
def test_a_key_is_named_as_it_is_printed_on_keyboards(key: str, text: str) -> None:
    assert key_text(key) == text
