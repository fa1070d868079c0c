"""Pages in a terminal that says it can show pictures: asked, answered, drawn, turned.

The terminal is the test: it answers the questions of a real one. Device attributes with a 4 mean
sixel graphics (DEC STD 070; xterm control sequences), and CSI 6;h;w t is a cell's size in pixels.
Where the extra `picture` is not installed, the same keys must say how to get it.
"""

from __future__ import annotations

import os
import re
import sys
import time
from importlib.util import find_spec
from pathlib import Path

import pexpect

SONG = Path(__file__).parents[2] / "shared" / "songs" / "paper-lanterns.toml"
MAIN = "from tui.cli import main; raise SystemExit(main())"
COLUMNS, CELL = 80, (20, 10)
ANSWERS = {b"\x1b[c": b"\x1b[?62;4c", b"\x1b[16t": b"\x1b[6;%d;%dt" % CELL}
SIXEL = re.compile(rb'\x1bP[\d;]*q"\d+;\d+;(\d+);(\d+)')


class Terminal:
    """The program in a pseudo-terminal that answers, and all it has written since the last key."""

    def __init__(self, home: Path) -> None:
        folders = {f"XDG_{name}_HOME": str(home / name) for name in ("STATE", "CONFIG", "DATA")}
        self.child = pexpect.spawn(
            sys.executable,
            ["-c", MAIN, str(SONG), "--sound", "none"],
            env={**os.environ, **folders, "TERM": "xterm-256color", "LANG": "C.UTF-8"},
            dimensions=(24, COLUMNS),
        )
        self.written = b""
        self._answered = 0

    def until(self, pattern: re.Pattern[bytes]) -> re.Match[bytes]:
        """Read on and answer until this has been written."""
        end = time.monotonic() + 60
        while time.monotonic() < end:
            found = pattern.search(self.written)
            if found:
                return found
            try:
                self.written += self.child.read_nonblocking(65536, timeout=0.1)
            except pexpect.TIMEOUT:
                continue
            for question, answer in ANSWERS.items():
                for _ in range(self.written.count(question, self._answered)):
                    self.child.send(answer)
            self._answered = len(self.written)
        raise AssertionError(f"never written: {pattern.pattern!r}")

    def press(self, key: str) -> None:
        self.written, self._answered = b"", 0
        self.child.send(key)


def test_pages_are_drawn_in_a_terminal_that_shows_pictures(tmp_path: Path) -> None:
    terminal = Terminal(tmp_path)
    try:
        terminal.until(re.compile(rb"stopped"))
        terminal.press("O")
        if find_spec("textual_image") is None:
            terminal.until(re.compile(rb"pip install"))
            return
        width, height = map(int, terminal.until(SIXEL).groups())
        assert COLUMNS * CELL[1] * 0.9 < width <= COLUMNS * CELL[1]
        assert height > 0
        terminal.until(re.compile(rb"page 1 of \d"))
        terminal.press("q")
        terminal.until(re.compile(rb"stopped"))
        terminal.press("q")
        terminal.child.expect(pexpect.EOF)
    finally:
        terminal.child.close(force=True)
