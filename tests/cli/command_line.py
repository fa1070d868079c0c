"""Runs commands in this process and says what they printed; songs for them."""

from __future__ import annotations

import io
import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tui.cli import main

SONG = """\
format = 1
title = "Two Chords"
key = "C major"
meter = "6/8"

[[section]]
name = "A"
chart = "| C (. . G/B) | Am D7/F# | N.C. | G |"
melody = "C3 E3 | A3 c3 | z6 | d6"
"""


def song_of(tmp_path: Path, bars: str, more: str = "") -> Path:
    """A file with a song in C of these bars, `more` being lines at its top."""
    path = tmp_path / "bars.toml"
    path.write_text(
        f'format = 1\ntitle = "Bars"\nkey = "C major"\n{more}\n[[section]]\nname = "A"\n'
        f'chart = "| {bars} |"\n',
        encoding="utf-8",
    )
    return path


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a command left behind."""

    status: int
    out: str
    err: str

    @property
    def records(self) -> list[dict[str, Any]]:
        """The JSON objects it printed, one a line."""
        return [json.loads(line) for line in self.out.splitlines()]


class CommandLine:
    """`alberti` with the test's own standard streams."""

    def __init__(self, capsys: pytest.CaptureFixture[str], patch: pytest.MonkeyPatch) -> None:
        self.capsys, self.patch = capsys, patch

    def __call__(self, *arguments: object, stdin: str | bytes = "") -> Outcome:
        data = stdin.encode() if isinstance(stdin, str) else stdin
        self.patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data), encoding="utf-8"))
        status = main([str(argument) for argument in arguments])
        captured = self.capsys.readouterr()
        return Outcome(status, captured.out, captured.err)
