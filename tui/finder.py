"""Asks the reharmoniser on a thread of its own: neither keys nor the journal wait for it."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

from engine.workshop import Ask, Ideas, answer
from tui.faults import told

logger = logging.getLogger("alberti")
#: How long it gives way at most, and between looks, in seconds.
PATIENCE, PAUSE = 2.0, 0.01


class Finder:
    """Answers what was asked last; `found` is called on the finder's own thread.

    It gives way while `busy` holds: the part and the journal go first.
    """

    def __init__(self, found: Callable[[Ideas], object], busy: Callable[[], bool]) -> None:
        self._found = found
        self._busy = busy
        self._lock = threading.Lock()
        self._ask: Ask | None = None
        self._jobs = 0
        self._closed = False
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="finder")

    def find(self, ask: Ask) -> None:
        """Ask; questions that wait are dropped for it."""
        with self._lock:
            if self._closed:
                return
            self._ask = ask
            self._jobs += 1
            self._thread.submit(self._answer)

    @property
    def idle(self) -> bool:
        """Whether nothing is asked."""
        with self._lock:
            return self._jobs == 0

    def close(self) -> None:
        """Drop what waits; what is being answered comes to its end."""
        with self._lock:
            self._closed, self._ask = True, None
        self._thread.shutdown(cancel_futures=True)

    def _answer(self) -> None:
        give_up = time.monotonic() + PATIENCE
        while self._busy() and time.monotonic() < give_up:
            time.sleep(PAUSE)
        with self._lock:
            ask, self._ask = self._ask, None
        try:
            if ask is not None:
                self._found(self._answered(ask))
        finally:
            with self._lock:
                self._jobs -= 1

    def _answered(self, ask: Ask) -> Ideas:
        try:
            return answer(ask)
        except Exception as fault:
            logger.exception("looking for chords")
            return Ideas(ask, trouble=told(fault))
