"""Where one left off in a song: the place, the loop, tempo and hands, found again next time."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from platformdirs import user_state_path

from engine.workshop.files import write_atomically
from engine.workshop.history import settle
from engine.workshop.loop import Loop, fitted, loop_text
from engine.workshop.practice import FASTEST, SLOWEST
from engine.workshop.practice_log import log_path
from engine.workshop.work import START, Cursor, Hands, Work, say


def remember(work: Work, folder: Path | None = None) -> None:
    """Note where the work stands, for its file. Raises FileError."""
    if not work.path:
        return
    file = _file(work.path, folder)
    loop = work.loop
    value = {
        "cursor": list(work.cursor),
        "loop": loop and [loop.first, loop.last, str(loop.start), str(loop.end or ""), loop.link],
        "tempo": work.tempo,
        "hands": work.hands.value,
    }
    file.parent.mkdir(parents=True, exist_ok=True)
    write_atomically(str(file), json.dumps(value, ensure_ascii=False))


def resumed(work: Work, folder: Path | None = None) -> Work:
    """The work as it was left; as it is where nothing is known or it cannot be read."""
    if not work.path:
        return work
    try:
        found = json.loads(_file(work.path, folder).read_text(encoding="utf-8"))
        cursor = Cursor(*map(int, found["cursor"]))
        loop = _loop(found["loop"])
        tempo = None if found["tempo"] is None else float(found["tempo"])
        hands = Hands(found["hands"])
    except (OSError, ValueError, TypeError, KeyError, ZeroDivisionError):
        return work
    if tempo is not None and not SLOWEST <= tempo <= FASTEST:
        tempo = None
    kept = fitted(loop, work.song)
    there = settle(replace(work, loop=kept, tempo=tempo, hands=hands), cursor)
    if there.cursor == START and kept is None and tempo is None and hands is Hands.BOTH:
        return there
    around = f", loop {loop_text(kept, there.song)}" if kept else ""
    return say(there, f"As you left it: bar {there.cursor.bar}{around}")


def _file(path: str, folder: Path | None) -> Path:
    return log_path(Path(path), folder or user_state_path("alberti") / "sessions")


def _loop(value: list[object] | None) -> Loop | None:
    if value is None:
        return None
    first, last, start, end, link = value
    ends = Fraction(str(end)) if end else None
    loop = Loop(int(str(first)), int(str(last)), Fraction(str(start)), ends, bool(link))
    if not 1 <= loop.first <= loop.last or loop.start < 0 or (ends is not None and ends <= 0):
        raise ValueError(value)
    return loop
