"""Makes the stages of the newest song and keeps the journal, each on a thread: keys never wait."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from engine.errors import AlbertiError
from engine.song import Song
from engine.workshop import Journal, Stages, Work, performance_of, stages
from tui.faults import told
from tui.glow import differing_notes

if TYPE_CHECKING:
    from engine.perform import Performance
    from engine.play import Score

logger = logging.getLogger("alberti")
T = TypeVar("T")
Make = Callable[[Song, Stages | None], Stages]
Perform = Callable[[Song], "Performance"]


@dataclass(frozen=True, slots=True)
class Made:
    """The stages of a song, and where they differ from others.

    `differing` are the bars whose notes are not those of the stages before,
    `marks` those that are not as they were before the last edit or, while a
    song is tried out, as they stand.
    """

    stages: Stages
    differing: frozenset[int] = frozenset()
    marks: frozenset[int] = frozenset()


class Maker:
    """Makes what was asked for last; `heard` and `done` are called on the maker's own thread.

    `heard` gets what the player plays, as soon as it is there: what the screen
    shows besides may come later. `first` is the song before any stage is made.
    Songs and works asked for while it is busy are skipped but for the newest.
    """

    def __init__(
        self,
        first: Song,
        heard: Callable[[Score], None],
        done: Callable[[Made], None],
        journal: Journal | None,
        make: Make = stages,
        perform: Perform = performance_of,
    ) -> None:
        self._heard = heard
        self._done = done
        self._stages = make
        self._perform = perform
        self._journal = journal
        self._lock = threading.Lock()
        self._song: Song | None = None
        self._trial = False
        self._kept = Stages(first)
        self._marks: frozenset[int] = frozenset()
        self._work: Work | None = None
        self._newest: Work | None = None
        self._moved: list[Work] = []  # from under a former name, whose notes say nothing any more
        self._jobs = 0
        self._closed = False
        self._last = Stages(first)
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="maker")
        # What was typed is written down at once, however long the part takes.
        self._scribe = ThreadPoolExecutor(1, thread_name_prefix="journal")

    def ask(self, song: Song, *, trial: bool = False) -> None:
        """Make the stages of a song, which may be one that is only tried out."""
        with self._lock:
            self._song, self._trial = song, trial
            self._submit(self._thread, self._make, self._made)

    def keep(self, work: Work) -> None:
        """Write down what is not saved."""
        if self._journal is None:
            return
        with self._lock:
            if self._newest is not None and self._newest.path != work.path:
                self._moved.append(self._newest)
            self._work = self._newest = work
            self._submit(self._scribe, self._write, self._written)

    @property
    def idle(self) -> bool:
        """Whether nothing is asked for or being made."""
        with self._lock:
            return self._jobs == 0

    def close(self) -> None:
        """Finish what was asked for, then end."""
        with self._lock:
            self._closed = True
        self._thread.shutdown()
        self._scribe.shutdown()

    def _submit(
        self, thread: ThreadPoolExecutor, job: Callable[[], T], after: Callable[[Future[T]], None]
    ) -> None:
        if self._closed:
            return
        self._jobs += 1
        thread.submit(job).add_done_callback(after)

    def _make(self) -> Made | None:
        """The newest song's stages, None where an earlier job has made them."""
        with self._lock:
            song, self._song, trial = self._song, None, self._trial
        if song is None:
            return None
        self._sound(song)
        before, found = self._last, self._stages(song, self._last)
        self._last = found
        marks = self._marked(found, trial=trial)
        return Made(found, differing_notes(before, found), marks)

    def _sound(self, song: Song) -> None:
        from engine.play import score_of

        with suppress(AlbertiError):  # the stages say what is wrong
            self._heard(score_of(self._perform(song), song))

    def _marked(self, found: Stages, *, trial: bool) -> frozenset[int]:
        """The bars that differ from the song before its last edit, or from what stands."""
        if trial:
            return differing_notes(self._kept, found)
        if found.song != self._kept.song:
            self._marks = differing_notes(self._kept, found)
        self._kept = found
        return self._marks

    def _made(self, job: Future[Made | None]) -> None:
        fault = job.exception()
        if fault is not None:
            logger.error("making the part", exc_info=fault)
            self._done(Made(replace(self._last, trouble=told(fault))))
        elif (made := job.result()) is not None:
            self._done(made)
        self._finished()

    def _write(self) -> None:
        with self._lock:
            work, self._work = self._work, None
            moved, self._moved = self._moved, []
        if work is not None and self._journal is not None:
            self._journal.keep(work)
            for former in moved:
                if former.path != work.path:
                    self._journal.drop(former)

    def _written(self, job: Future[None]) -> None:
        """A full disk must not stop the music; saving will say what is wrong."""
        fault = job.exception()
        if fault is not None and not isinstance(fault, AlbertiError | OSError):
            logger.error("keeping the journal", exc_info=fault)
        self._finished()

    def _finished(self) -> None:
        with self._lock:
            self._jobs -= 1
