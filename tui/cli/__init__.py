"""The command line: `alberti [SONG]` opens the workshop; other commands need no screen.

A command is a module of this package with `add(commands)`, which describes it
to the parser, and `run(args) -> int`, which does it and returns the exit
status: 0, 1 for findings, 2 for bad input. Only the module that is asked for
is imported.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from tui.cli import frame
from tui.cli.guard import Guard


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit status. No exception leaves it."""
    _open_streams()
    guard = Guard()
    with guard:
        guard.status = frame.dispatch(list(sys.argv[1:] if argv is None else argv))
        sys.stdout.flush()
    return guard.status


def _open_streams() -> None:
    """Standard streams that the caller closed, empty: a command goes on without them."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_RDWR), mode, encoding="utf-8"))


__all__ = ["main"]
