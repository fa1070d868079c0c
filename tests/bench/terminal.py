"""A program on a pseudo-terminal, measured from outside: bytes in, bytes out."""

from __future__ import annotations

import os
import pty
import re
import select
import struct
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from fcntl import ioctl
from pathlib import Path
from termios import TIOCSWINSZ

MAIN = "from tui.cli import main; raise SystemExit(main())"


class Terminal:
    """A child on a pseudo-terminal of a size; `home` holds its state, settings and data."""

    def __init__(
        self,
        code: str,
        *words: str,
        size: tuple[int, int],
        home: Path,
        environment: Mapping[str, str],
    ) -> None:
        self.parent, child = pty.openpty()
        ioctl(child, TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        folders = {f"XDG_{name}_HOME": str(home) for name in ("STATE", "CONFIG", "DATA")}
        env = {**os.environ, **folders, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
        # Installed programs are compiled once and not at every start.
        env.pop("PYTHONDONTWRITEBYTECODE", None)
        env["PYTHONPYCACHEPREFIX"] = str(home / "compiled")
        self.process = subprocess.Popen(
            [sys.executable, "-c", code, *words],
            stdin=child, stdout=child, stderr=child, env={**env, **environment},
            start_new_session=True,
        )  # fmt: skip
        os.close(child)
        self.seen = b""
        self.painted = 0

    def wait_for(self, pattern: bytes, seconds: float = 60) -> float:
        """When the pattern was first seen in what came since the last call."""
        end = time.perf_counter() + seconds
        while time.perf_counter() < end:
            if re.search(pattern, self.seen):
                self.seen = b""
                return time.perf_counter()
            if select.select([self.parent], [], [], 0.5)[0]:
                self.seen += os.read(self.parent, 65536)
        raise AssertionError(f"{pattern!r} never came")

    def idle(self, seconds: float) -> None:
        """Let it work for a while and read what it paints; `painted` counts the bytes."""
        end = time.perf_counter() + seconds
        while (left := end - time.perf_counter()) > 0:
            if select.select([self.parent], [], [], left)[0]:
                self.painted += len(os.read(self.parent, 65536))
        self.seen = b""

    def send(self, data: bytes) -> None:
        os.write(self.parent, data)

    def cpu(self) -> float:
        """Processor seconds of all its threads so far (Linux)."""
        threads = Path(f"/proc/{self.process.pid}/task").iterdir()
        return sum(int((each / "schedstat").read_text().split()[0]) for each in threads) / 1e9

    def type(self, *keys: bytes, apart: float = 0.05) -> None:
        """Key after key, as a player types."""
        for key in keys:
            self.send(key)
            self.idle(apart)

    def quit(self, seconds: float = 20) -> None:
        """Leave by the keys for it, without saving, and wait until it has ended."""
        limit = time.perf_counter() + seconds
        with suppress(OSError):  # raised once the other end is closed
            while self.process.poll() is None and time.perf_counter() < limit:
                self.type(b"q", apart=0.3)
        self.process.wait(seconds)

    def close(self) -> None:
        self.process.kill()
        self.process.wait()
        os.close(self.parent)


@contextmanager
def terminal(
    code: str,
    *words: str,
    home: Path,
    size: tuple[int, int] = (120, 40),
    environment: Mapping[str, str] | None = None,
) -> Iterator[Terminal]:
    shown = Terminal(code, *words, size=size, home=home, environment=environment or {})
    try:
        yield shown
    finally:
        shown.close()
