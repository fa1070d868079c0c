"""The command line: `alberti [SONG]` opens the workshop; other commands need no screen.

A command is a module of this package with `add(commands)`, which describes it
to the parser, and `run(args) -> int`, which does it and returns the exit
status: 0, 1 for findings, 2 for bad input. Only the module that is asked for
is imported.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence

from tui.cli import frame
from tui.cli.guard import Guard


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status. No exception leaves it."""
    guard = Guard()
    with guard:
        guard.status = frame.dispatch(list(sys.argv[1:] if argv is None else argv))
        sys.stdout.flush()
    return guard.status


__all__ = ["main"]
