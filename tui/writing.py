"""Writing the part to a file while the screen goes on: a child process does the work."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

from engine.workshop import Notice, Tone

_MAIN = "from tui.cli import main; raise SystemExit(main())"


async def write_part(text: str, path: str) -> Notice:
    """Render a song's text to a file in the form its ending names; what is to be said of it.

    The libraries that engrave and render load in the child, so that the screen
    neither waits for them nor shows what they print.
    """
    target = str(Path(path).expanduser())
    child = await asyncio.create_subprocess_exec(
        sys.executable,
        *("-c", _MAIN, "render", "-", "-o", target),
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.DEVNULL,
        stderr=asyncio.subprocess.PIPE,
    )
    _, told = await child.communicate(text.encode())
    if child.returncode == 0:
        return Notice(f"Written: {path}")
    lines = [line.strip() for line in told.decode(errors="replace").splitlines() if line.strip()]
    return Notice(lines[0] if lines else f"“{path}” could not be written", Tone.TROUBLE)
