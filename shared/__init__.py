"""Data that engine, tui and tests all read: figures, tables with their sources, demo songs."""

from __future__ import annotations

from pathlib import Path

_HERE = Path(__file__).parent  # importlib.resources would cost the start some milliseconds


def text(*parts: str) -> str:
    """The text of a data file, by its path below this package."""
    return _HERE.joinpath(*parts).read_text(encoding="utf-8")


def names(folder: str, ending: str) -> list[str]:
    """The sorted names of the files with an ending in a folder of this package."""
    found = (entry.name for entry in _HERE.joinpath(folder).iterdir())
    return sorted(name for name in found if name.endswith(ending))
