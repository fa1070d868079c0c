"""Writing files and pages while the screen goes on: a child process does the work."""

from __future__ import annotations

import asyncio
import json
import sys
import tempfile
from asyncio.subprocess import Process
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from engine.workshop import Notice, Render, Tone

_MAIN = "from tui.cli import main; raise SystemExit(main())"
#: The endings of sound, whose making takes long enough to tell how far it is.
_SOUND = (".wav", ".flac", ".ogg")
Progress = Callable[[float], object]


async def write_part(
    text: str, asked: Render, song: str = "", *, melody: bool = True, progress: Progress
) -> Notice:
    """Write a song's text to a file in the form its name asks for; what is to be said of it.

    A name like `song.lead.pdf` asks for that sheet, any other for the part. `song` is its own
    file, if any, whose practice a lesson sheet tells of; a part may be without its `melody`.
    `progress` is told how much of a sound is done, 0 to 1. Cancelled, it leaves no file.
    """
    from tui.cli.lesson import sheet_of

    target = Path(asked.path).expanduser()
    sheet = bool(sheet_of(target))
    command = ("lesson", "--practised", song or "-") if sheet else ("render", *asked.how)
    if sheet and asked.how:
        return Notice(f"{target.name} is a sheet of the whole song: name it alone", Tone.TROUBLE)
    bare = not sheet and not melody
    told = ("--json", "--progress") if target.suffix.lower() in _SOUND else ()
    more = (*told, *(("--no-melody",) if bare else ()))
    fault = await _told(text, target, *command, *more, progress=progress if told else None)
    without = ", without the melody" if bare else ""
    return Notice(fault, Tone.TROUBLE) if fault else Notice(f"Written{without}: {asked.path}")


async def engraved_pages(text: str) -> list[bytes] | Notice:
    """The pages of a song's score as PNG pictures, or what went wrong."""
    with tempfile.TemporaryDirectory() as folder:
        fault = await _told(text, Path(folder, "page.png"), "render")
        if fault:
            return Notice(fault, Tone.TROUBLE)
        written = sorted(Path(folder).iterdir(), key=lambda page: (len(page.name), page.name))
        return [page.read_bytes() for page in written]


async def _told(text: str, target: Path, *command: str, progress: Progress | None = None) -> str:
    """Run a command of the command line on a song's text; its complaint, empty where it has none.

    The libraries that engrave and render load in the child, so that the screen
    neither waits for them nor shows what they print.
    """
    child = await asyncio.create_subprocess_exec(
        sys.executable,
        *("-c", _MAIN, *command, "-o", str(target), "-"),
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    assert child.stderr is not None
    try:
        said = (await asyncio.gather(
            child.stderr.read(), _fed(child, text), _followed(child, progress)
        ))[0]  # fmt: skip
        await child.wait()
    except asyncio.CancelledError:
        with suppress(ProcessLookupError):
            child.terminate()  # it takes its half-made file with it
        await child.wait()
        raise
    if child.returncode == 0:
        return ""
    lines = [line.strip() for line in said.decode(errors="replace").splitlines() if line.strip()]
    return lines[0] if lines else f"“{target}” could not be written"


async def _fed(child: Process, text: str) -> None:
    assert child.stdin is not None
    with suppress(BrokenPipeError, ConnectionResetError):  # its complaint says why
        child.stdin.write(text.encode())
        await child.stdin.drain()
    child.stdin.close()


async def _followed(child: Process, progress: Progress | None) -> None:
    """Read what it says until it ends, and tell how far it is."""
    assert child.stdout is not None
    async for line in child.stdout:
        if progress is not None and "done" in (told := json.loads(line)):
            progress(told["done"])
