"""What commands print: tables for people, and JSON, one object a line, for programs."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

_GAP = "  "


def say_json(value: dict[str, Any]) -> None:
    """One JSON object on a line of its own."""
    print(json.dumps(value, ensure_ascii="utf" not in (sys.stdout.encoding or "").lower()))


def say(text: str = "") -> None:
    """A line for people; a terminal without some letter gets a substitute for it."""
    encoding = sys.stdout.encoding or "ascii"
    print(text.encode(encoding, "replace").decode(encoding))


def say_table(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """A table: drawn in a terminal, in plain aligned columns elsewhere."""
    if sys.stdout.isatty():
        from rich.box import SIMPLE_HEAD
        from rich.console import Console
        from rich.table import Table
        from rich.text import Text

        table = Table(*columns, box=SIMPLE_HEAD, pad_edge=False)
        for row in rows:
            table.add_row(*map(Text, row))
        Console(highlight=False).print(table)
        return
    widths = [
        max(len(str(row[k])) for row in (columns, *rows)) for k in range(len(columns) - 1)
    ]  # fmt: skip
    for row in (columns, *rows):
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
        say(_GAP.join([*cells, row[-1]]).rstrip())


def number(value: Fraction) -> int | float:
    """A fraction as a JSON number: whole where it is whole."""
    return int(value) if value.denominator == 1 else float(value)
