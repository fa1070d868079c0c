"""Writing files and pages while the screen goes on: a child process does the work."""

from __future__ import annotations

import asyncio
import sys
import tempfile
from pathlib import Path

from engine.workshop import Notice, Tone

_MAIN = "from tui.cli import main; raise SystemExit(main())"


async def write_part(text: str, path: str, song: str = "", *, melody: bool = True) -> Notice:
    """Write a song's text to a file in the form its name asks for; what is to be said of it.

    A name like `song.lead.pdf` asks for that sheet, any other for the part. `song` is its own
    file, if any, whose practice a lesson sheet tells of; a part may be without its `melody`.
    """
    from tui.cli.lesson import sheet_of

    target = Path(path).expanduser()
    sheet = bool(sheet_of(target))
    command = ("lesson", "--practised", song or "-") if sheet else ("render",)
    bare = not sheet and not melody
    fault = await _told(text, target, *command, *(("--no-melody",) if bare else ()))
    without = ", without the melody" if bare else ""
    return Notice(fault, Tone.TROUBLE) if fault else Notice(f"Written{without}: {path}")


async def engraved_pages(text: str) -> list[bytes] | Notice:
    """The pages of a song's score as PNG pictures, or what went wrong."""
    with tempfile.TemporaryDirectory() as folder:
        fault = await _told(text, Path(folder, "page.png"), "render")
        if fault:
            return Notice(fault, Tone.TROUBLE)
        written = sorted(Path(folder).iterdir(), key=lambda page: (len(page.name), page.name))
        return [page.read_bytes() for page in written]


async def _told(text: str, target: Path, *command: str) -> str:
    """Run a command of the command line on a song's text; its complaint, empty where it has none.

    The libraries that engrave and render load in the child, so that the screen
    neither waits for them nor shows what they print.
    """
    child = await asyncio.create_subprocess_exec(
        sys.executable,
        *("-c", _MAIN, *command, "-o", str(target), "-"),
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.DEVNULL,
        stderr=asyncio.subprocess.PIPE,
    )
    _, told = await child.communicate(text.encode())
    if child.returncode == 0:
        return ""
    lines = [line.strip() for line in told.decode(errors="replace").splitlines() if line.strip()]
    return lines[0] if lines else f"“{target}” could not be written"
