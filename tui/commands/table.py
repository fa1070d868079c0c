"""The one table of commands: each with its name, keys, panes, reason for refusal and function.

Bindings, footer, palette, help and the key documentation are all read from
here. A function takes the work and gives the next work, or an `Outcome` where
something outside must happen. Its rows stand in a module for each thing one does.
"""

from __future__ import annotations

from functools import lru_cache

from tui.commands import figuring, keeping, moving, playing, writing
from tui.commands.command import Command


@lru_cache(maxsize=1)
def table() -> tuple[Command, ...]:
    """Every command, in the order that help and palette show them."""
    rooms = (playing, writing, figuring, moving, keeping)
    return tuple(row for room in rooms for row in room.rows())


@lru_cache(maxsize=1)
def by_name() -> dict[str, Command]:
    """Every command by its stable name."""
    return {command.name: command for command in table()}
