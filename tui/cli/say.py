"""What commands print: tables for people, and JSON, one object a line, for programs."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from shutil import get_terminal_size
from textwrap import fill
from typing import Any

_GAP, _INDENT = "  ", "      "


def say_json(value: dict[str, Any]) -> None:
    """One JSON object on a line of its own; a byte of a name that is no text is escaped."""
    line = json.dumps(value, ensure_ascii="utf" not in (sys.stdout.encoding or "").lower())
    print(line.encode("utf-8", "backslashreplace").decode("utf-8"))


def say_written(path: Path, size: int, *, as_json: bool) -> None:
    """A file that was written, and how large it is."""
    if as_json:
        say_json({"file": str(path), "bytes": size})
    else:
        say(f"{path}: {size:,} bytes")


def say(text: str = "") -> None:
    """A line for people; a terminal without some letter gets a substitute for it."""
    encoding = sys.stdout.encoding or "ascii"
    print(text.encode(encoding, "replace").decode(encoding))


def say_table(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """A table in aligned columns, every row on one line.

    In a terminal too narrow for that the last column stands below each row,
    broken to the terminal's width.
    """
    widths = [max(map(len, column)) for column in zip(columns, *rows, strict=True)]
    terminal = sys.stdout.isatty()
    most = get_terminal_size().columns - 1 if terminal else sys.maxsize
    below = sum(widths) + len(_GAP) * (len(widths) - 1) > most
    bold, plain = ("\x1b[1m", "\x1b[0m") if terminal and "NO_COLOR" not in os.environ else ("", "")
    say(bold + _aligned(columns[:-1] if below else columns, widths) + plain)
    for row in rows:
        say(_aligned(row[:-1] if below else row, widths))
        if below and row[-1]:
            say(fill(row[-1], most, initial_indent=_INDENT, subsequent_indent=_INDENT))


def _aligned(row: Sequence[str], widths: Sequence[int]) -> str:
    return _GAP.join(map(str.ljust, row, widths)).rstrip()


def ascii_signs(text: str) -> str:
    """Words for people as programs get them, with # and b for ♯ and ♭."""
    return text.replace("♯", "#").replace("♭", "b")


def number(value: Fraction) -> int | float:
    """A fraction as a JSON number: whole where it is whole."""
    return int(value) if value.denominator == 1 else float(value)
