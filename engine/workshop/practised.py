"""What is known of a song's loops, as rows of its lesson sheet."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from engine.exchange.sheets.plan import Practised
from engine.song import Song
from engine.workshop.loop import Loop, loop_text
from engine.workshop.practice_log import LoopRecord, PracticeLog, current, log_path, read_log

_HANDS = {"both": "together", "right": "right alone", "left": "left alone"}


def practised(log: PracticeLog, song: Song) -> tuple[Practised, ...]:
    """A row for each loop that still holds for the song, in the order of its bars."""
    rows = sorted(current(log, song), key=lambda each: (each.bars, each.hands))
    return tuple(
        Practised(
            loop_text(loop_of(each), song),
            _HANDS[each.hands],
            f"{each.tempo:g}" if each.tempo else "not yet",
            f"{each.clean} of {each.passes} clean",
            f"{each.day.day} {each.day:%B %Y}",
        )
        for each in rows
    )


def practised_in(file: str, song: Song) -> tuple[Practised, ...]:
    """The rows of a song file's log; none for a name that is no file. Raises FileError."""
    return practised(read_log(log_path(Path(file))), song) if Path(file).is_file() else ()


def loop_of(record: LoopRecord) -> Loop:
    """The loop that a record is of."""
    start, _, end = record.offsets.partition(":")
    return Loop(*record.bars, Fraction(start or 0), Fraction(end) if end else None)
