"""A thread that makes the stages of the newest song and keeps the journal: keys never wait."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass

from engine.errors import AlbertiError
from engine.play import Score, score_of
from engine.song import Song
from engine.workshop import Journal, Stages, Work, stages


@dataclass(frozen=True, slots=True)
class Made:
    """The stages of a song and, where it can be performed, what the player plays."""

    stages: Stages
    score: Score | None


class Maker:
    """Makes what was asked for last; `done` is called on the maker's own thread.

    Songs asked for while it works are skipped but for the newest.
    """

    def __init__(self, done: Callable[[Made], None], journal: Journal | None) -> None:
        self._done = done
        self._journal = journal
        self._wake = threading.Condition()
        self._song: Song | None = None
        self._work: Work | None = None
        self._closed = False
        self._busy = False
        self._last: Stages | None = None
        self._thread = threading.Thread(target=self._serve, name="maker", daemon=True)
        self._thread.start()

    def ask(self, song: Song) -> None:
        """Make the stages of a song."""
        with self._wake:
            self._song = song
            self._wake.notify()

    def keep(self, work: Work) -> None:
        """Write down what is not saved."""
        with self._wake:
            self._work = work
            self._wake.notify()

    @property
    def idle(self) -> bool:
        """Whether nothing is asked for or being made."""
        with self._wake:
            return self._song is None and self._work is None and not self._busy

    def close(self) -> None:
        """Finish what was begun, then end."""
        with self._wake:
            self._closed = True
            self._wake.notify()
        self._thread.join(timeout=5)

    def _serve(self) -> None:
        while True:
            with self._wake:
                while self._song is None and self._work is None and not self._closed:
                    self._wake.wait()
                song, work = self._song, self._work
                self._song = self._work = None
                if song is None and work is None:
                    return
                self._busy = True
            if work is not None and self._journal is not None:
                _written(self._journal, work)
            if song is not None:
                self._last = stages(song, self._last)
                found = self._last
                played = None if found.trouble else found.performance
                score = score_of(played, song) if played is not None else None
                self._done(Made(found, score))
            with self._wake:
                self._busy = False


def _written(journal: Journal, work: Work) -> None:
    try:
        journal.keep(work)
    except (AlbertiError, OSError):
        return  # a full disk must not stop the music; saving will say what is wrong
