"""What the practice log is told while one plays, and when a rest is due."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import FileError
from engine.song import Song
from engine.workshop import Mark

if TYPE_CHECKING:
    from engine.workshop.practice_log import PracticeLog

#: Minutes without playing after which the count towards a rest begins anew.
RESTED = 5.0
#: Minutes played that are noted down while it plays: no more is lost if the program is killed.
NOTED = 1.0


class Practising:
    """The practice log of one song file. `path` is empty for a song without a file: no log."""

    def __init__(
        self, path: str, today: Callable[[], date] = date.today, folder: Path | None = None
    ) -> None:
        self._path, self._folder, self._today = path, folder, today
        self._log: PracticeLog | None = None
        self._played = 0.0  # minutes since the last rest
        self._untold = 0.0  # minutes not yet in the log
        self._last: float | None = None
        self._warned = False
        self._unwritten = False

    @property
    def log(self) -> PracticeLog:
        """The log, read at first use."""
        from engine.workshop.practice_log import PracticeLog, log_path, read_log

        if self._log is None:
            self._log = PracticeLog()
            if self._path:
                try:
                    self._log = read_log(log_path(Path(self._path), self._folder))
                except FileError:
                    self._path = ""
        return self._log

    def moved(self, path: str) -> None:
        """The song is now in another file: what is known goes with it. Raises FileError."""
        if path == self._path:
            return
        log, self._path = self.log, path
        if log.loops or log.minutes:
            self._keep(log)

    def today(self) -> str:
        """How long was played today, and how long is wise, in a few words."""
        from engine.workshop.plan import most_minutes

        day = self._today()
        text = f"today {self.log.minutes_on(day) + self._untold:.0f} min"
        most = most_minutes(self.log, day)
        return f"{text}, at most {most:.0f}" if most is not None else text

    def mark(self, song: Song, pass_: Mark) -> None:
        """Note a pass. Raises FileError where the log cannot be written."""
        from engine.workshop.practice_log import mark_pass, mark_tempo

        day = self._today()
        bars, offsets = pass_.loop.bars, pass_.loop.offsets
        found = mark_pass(
            self.log, song, bars, pass_.hands, clean=pass_.clean, day=day, offsets=offsets
        )
        if pass_.tempo:
            found = mark_tempo(
                found, song, bars, pass_.hands, pass_.tempo, day=day, offsets=offsets
            )
        self._keep(found)

    def played(self, seconds: float) -> str:
        """So many more seconds of playing; a caution where a rest is due, else nothing."""
        from engine.workshop.plan import cautions, rest_due

        now = time.monotonic()
        if self._last is not None and now - self._last > RESTED * 60:
            self._played, self._warned = 0.0, False
        self._last = now
        self._played += seconds / 60
        self._untold += seconds / 60
        if self._untold >= NOTED:
            with suppress(FileError):  # where it cannot be written, `stopped` says so
                self.stopped()
        if rest_due(self._played) and not self._warned:
            self._warned = True
            return cautions()[0]
        return ""

    def stopped(self) -> None:
        """Note the minutes played, if any. Raises FileError where the log cannot be written."""
        from engine.workshop.practice_log import add_minutes

        if self._untold >= 0.25 or self._unwritten:
            untold, self._untold = self._untold, 0.0
            self._keep(add_minutes(self.log, untold, self._today()))

    def _keep(self, log: PracticeLog) -> None:
        from engine.workshop.practice_log import log_path, write_log

        self._log, self._unwritten = log, bool(self._path)
        if self._path:
            write_log(log_path(Path(self._path), self._folder), log)
        self._unwritten = False
