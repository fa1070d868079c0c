"""Faults of our own: noted in a file with all that helps to mend them, told in one line."""

from __future__ import annotations

import logging
from pathlib import Path

from platformdirs import user_state_path

logger = logging.getLogger("alberti")


def fault_file() -> Path:
    """Where faults are noted."""
    return user_state_path("alberti") / "faults.txt"


def note_faults() -> None:
    """Send the notes to the file, and nothing of them to the screen."""
    logger.propagate = False
    if logger.handlers:
        return
    try:
        fault_file().parent.mkdir(parents=True, exist_ok=True)
        logger.addHandler(logging.FileHandler(fault_file(), encoding="utf-8", delay=True))
    except OSError:
        logger.addHandler(logging.NullHandler())


def told(fault: BaseException) -> str:
    """One line for the screen."""
    return f"A fault of ours ({type(fault).__name__}: {fault}): nothing was changed"
