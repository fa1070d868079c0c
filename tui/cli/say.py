"""What commands print: tables for people, and JSON, one object a line, for programs."""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Sequence
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from shutil import get_terminal_size
from textwrap import wrap
from typing import Any

_GAP, _INDENT = "  ", "      "
#: What no terminal may obey beside the ASCII controls: those of Latin 1, breaks of lines, and
#: signs that turn the order of writing.
_HIDDEN = "\x7f-\x9f\u2028-\u202e\u2066-\u2069"
_UNSEEN = re.compile(rf"[\x00-\x09\x0b-\x1f{_HIDDEN}]")


def harmless(text: str) -> str:
    """Text of files and names with a sign a column wide for each character that commands.

    Lines stay lines.
    """
    return _UNSEEN.sub(_sign, text)


def _sign(found: re.Match[str]) -> str:
    code = ord(found[0])
    return " " if found[0] == "\t" else chr(0x2400 + code) if code < ord(" ") else "\ufffd"


def say_json(value: dict[str, Any]) -> None:
    """One JSON object on a line of its own; a byte of a name that is no text is escaped."""
    line = json.dumps(value, ensure_ascii="utf" not in (sys.stdout.encoding or "").lower())
    line = re.sub(f"[{_HIDDEN}]", lambda found: f"\\u{ord(found[0]):04x}", line)
    print(line.encode("utf-8", "backslashreplace").decode("utf-8"))


def say_written(path: Path, size: int, *, as_json: bool) -> None:
    """A file that was written, and how large it is."""
    if as_json:
        say_json({"file": str(path), "bytes": size})
    else:
        say(f"{path}: {size:,} bytes")


def say(text: str = "") -> None:
    """A line for people; a terminal without some letter gets a substitute for it."""
    _print(harmless(text).replace("\n", "\N{SYMBOL FOR LINE FEED}"))


def tell(text: str) -> None:
    """Lines on the error stream; where that is full or closed, the exit status alone tells."""
    with suppress(OSError):
        print(harmless(text), file=sys.stderr, flush=True)


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
    _print(bold + _aligned(columns[:-1] if below else columns, widths) + plain)
    for row in rows:
        say(_aligned(row[:-1] if below else row, widths))
        if below and row[-1]:
            for line in wrap(row[-1], most, initial_indent=_INDENT, subsequent_indent=_INDENT):
                say(line)


def _print(line: str) -> None:
    encoding = sys.stdout.encoding or "ascii"
    print(line.encode(encoding, "replace").decode(encoding))


def _aligned(row: Sequence[str], widths: Sequence[int]) -> str:
    return _GAP.join(map(str.ljust, row, widths)).rstrip()


def ascii_signs(text: str) -> str:
    """Words for people as programs get them, with # and b for ♯ and ♭."""
    return text.replace("♯", "#").replace("♭", "b")


def number(value: Fraction) -> int | float:
    """A fraction as a JSON number: whole where it is whole."""
    return int(value) if value.denominator == 1 else float(value)
