"""The commands of the workshop and their keys."""

from tui.commands.command import Command
from tui.commands.keymap import Keymap, hints, key_text
from tui.commands.table import by_name, table

__all__ = ["Command", "Keymap", "by_name", "hints", "key_text", "table"]
