"""What has been practised of a song: the clean tempo of each loop, and the minutes of each day.

The log is kept apart from the song file, one small JSON file a song. A loop is
known by its chords as well as its bars: where bars are put in before it, it is
found again; where its chords change, its clean tempo no longer holds.
"""

from __future__ import annotations

import hashlib
import json
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from engine.errors import FileError
from engine.song import Song
from engine.whole import whole_file

FORMAT = 1


@dataclass(frozen=True, slots=True)
class LoopRecord:
    """How one loop goes. `bars` inclusive from 1; `hands` left, right or both.

    `tempo` is the fastest clean tempo in beats a minute, 0 before the first;
    `passes` and `clean` count passes marked; `chords` are its chords as written;
    `day` is when it was last practised. `offsets` tells loops from beat to beat
    apart, empty for whole bars.
    """

    bars: tuple[int, int]
    hands: str
    chords: str
    day: date
    tempo: float = 0
    passes: int = 0
    clean: int = 0
    offsets: str = ""


@dataclass(frozen=True, slots=True)
class PracticeLog:
    """All loops practised, in the order of their first practice; `minutes` of each day."""

    loops: tuple[LoopRecord, ...] = ()
    minutes: tuple[tuple[date, float], ...] = ()

    def minutes_on(self, day: date) -> float:
        return dict(self.minutes).get(day, 0.0)


def chords_of(song: Song, bars: tuple[int, int]) -> str:
    """The chords of some bars as one text: what a loop is known by."""
    return " | ".join(
        " ".join(slot.typed for slot in bar.slots) for bar in song.bars[bars[0] - 1 : bars[1]]
    )


def mark_pass(
    log: PracticeLog,
    song: Song,
    bars: tuple[int, int],
    hands: str,
    *,
    clean: bool,
    day: date,
    offsets: str = "",
) -> PracticeLog:
    """One pass of a loop, clean or with a slip."""
    old = _record(log, song, bars, hands, day, offsets)
    new = replace(old, passes=old.passes + 1, clean=old.clean + clean, day=day)
    return _with(log, old, new)


def mark_tempo(
    log: PracticeLog,
    song: Song,
    bars: tuple[int, int],
    hands: str,
    tempo: float,
    *,
    day: date,
    offsets: str = "",
) -> PracticeLog:
    """A rung of the tempo ladder was clean: the loop's clean tempo is that or what it was."""
    old = _record(log, song, bars, hands, day, offsets)
    return _with(log, old, replace(old, tempo=max(old.tempo, tempo), day=day))


def add_minutes(log: PracticeLog, minutes: float, day: date) -> PracticeLog:
    """So many more minutes of playing on a day."""
    days = dict(log.minutes)
    days[day] = days.get(day, 0.0) + minutes
    return replace(log, minutes=tuple(sorted(days.items())))


def current(log: PracticeLog, song: Song) -> tuple[LoopRecord, ...]:
    """The loops that still hold for the song as it is, each at the bars where it is now.

    A loop whose chords stand elsewhere, and only there, has moved; one whose
    chords are gone is left out.
    """
    places = ((loop, _place(song, loop)) for loop in log.loops)
    return tuple(replace(loop, bars=bars) for loop, bars in places if bars is not None)


def clean_tempo(
    log: PracticeLog, song: Song, bars: tuple[int, int], hands: str, offsets: str = ""
) -> float:
    """A loop's clean tempo, or 0."""
    for loop in current(log, song):
        if (loop.bars, loop.hands, loop.offsets) == (bars, hands, offsets):
            return loop.tempo
    return 0


def tempo_by_bar(log: PracticeLog, song: Song, hands: str = "both") -> dict[int, float]:
    """Each practised bar's clean tempo: of the loops that hold all of it, the fastest."""
    found: dict[int, float] = {}
    for loop in current(log, song):
        if loop.hands == hands and loop.tempo:
            start, _, end = loop.offsets.partition(":")
            first = loop.bars[0] + (start not in ("", "0"))
            last = loop.bars[1] - bool(end)
            for bar in range(first, last + 1):
                found[bar] = max(found.get(bar, 0), loop.tempo)
    return found


def _place(song: Song, loop: LoopRecord) -> tuple[int, int] | None:
    """Where a loop is now, or None where it is no more."""
    if chords_of(song, loop.bars) == loop.chords:
        return loop.bars
    length = loop.bars[1] - loop.bars[0]
    spans = [(first, first + length) for first in range(1, len(song.bars) - length + 1)]
    places = [span for span in spans if chords_of(song, span) == loop.chords]
    return places[0] if len(places) == 1 else None


def _record(
    log: PracticeLog, song: Song, bars: tuple[int, int], hands: str, day: date, offsets: str
) -> LoopRecord:
    """The loop's record, or a new one."""
    for loop in log.loops:
        same = (loop.hands, loop.offsets) == (hands, offsets)
        if same and _place(song, loop) == bars:
            return loop
    return LoopRecord(bars, hands, chords_of(song, bars), day, offsets=offsets)


def _with(log: PracticeLog, old: LoopRecord, new: LoopRecord) -> PracticeLog:
    if old in log.loops:
        return replace(log, loops=tuple(new if loop == old else loop for loop in log.loops))
    return replace(log, loops=(*log.loops, new))


# The file


def log_path(song_path: Path, folder: Path | None = None) -> Path:
    """Where the log of a song file is kept: in the platform's state folder, or in another."""
    if folder is None:
        from platformdirs import user_state_path

        folder = user_state_path("alberti") / "practice"
    name = hashlib.sha256(str(song_path.resolve()).encode()).hexdigest()[:16]
    return folder / f"{song_path.stem}-{name}.json"


def read_log(path: Path) -> PracticeLog:
    """The log in a file; an empty one where there is none.

    A file that cannot be understood is kept beside under the ending `.broken`, and an
    empty log is begun.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return PracticeLog()
    except OSError as error:
        raise FileError(f"{path} cannot be read ({error.strerror})") from error
    try:
        return _from_json(json.loads(text))
    except (ValueError, TypeError, KeyError, AttributeError):
        with suppress(OSError):
            path.replace(path.with_suffix(".broken"))
        return PracticeLog()


def write_log(path: Path, log: PracticeLog) -> None:
    """Write the log whole or not at all. Raises FileError."""
    value = {
        "format": FORMAT,
        "loops": [{**asdict(loop), "day": loop.day.isoformat()} for loop in log.loops],
        "minutes": {day.isoformat(): round(minutes, 2) for day, minutes in log.minutes},
    }
    with suppress(OSError):  # where there is no folder, the file says so
        path.parent.mkdir(parents=True, exist_ok=True)
    with whole_file(path) as part:
        part.write_text(json.dumps(value, indent=1, ensure_ascii=False), encoding="utf-8")


def _from_json(value: dict[str, Any]) -> PracticeLog:
    if value["format"] != FORMAT:
        raise ValueError(value["format"])
    loops = tuple(
        LoopRecord(
            (int(each["bars"][0]), int(each["bars"][1])),
            str(each["hands"]),
            str(each["chords"]),
            date.fromisoformat(each["day"]),
            float(each["tempo"]),
            int(each["passes"]),
            int(each["clean"]),
            str(each.get("offsets", "")),
        )
        for each in value["loops"]
    )
    minutes = ((date.fromisoformat(day), float(n)) for day, n in value["minutes"].items())
    return PracticeLog(loops, tuple(sorted(minutes)))
