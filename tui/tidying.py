"""When what is no longer needed is cleared away: in the pauses between keys.

Python looks through all there is by itself whenever much has been made, and halts every thread
meanwhile. A key pressed just then would be heard late, so the long looks wait until no key has
come for a moment.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable

#: Seconds without a key that count as a pause.
PAUSE = 0.3
#: Seconds between two looks, at least, and how much longer than the look itself they are.
APART, TIMES = 15.0, 200
#: Seconds after which it is done though keys come and come.
AT_LATEST = 120.0
#: Short looks, at what is new, go on by themselves; so many of them never come.
_NEVER = 1_000_000_000


class Tidying:
    """`begin` it once all is there; then tell it of every key and let it look at every tick."""

    def __init__(
        self,
        clock: Callable[[], float] = time.monotonic,
        collect: Callable[[], object] = gc.collect,
    ) -> None:
        self._clock = clock
        self._collect = collect
        self._key_at = self._last = clock()
        self._apart = APART
        self._before = gc.get_threshold()

    def begin(self) -> None:
        """What there is now stays: it is never looked through again."""
        gc.enable()
        self._collect()
        gc.freeze()
        gc.set_threshold(*self._before[:2], _NEVER)
        self._last = self._clock()

    def end(self) -> None:
        """Leave it to Python again."""
        gc.set_threshold(*self._before)
        gc.unfreeze()

    def pressed(self) -> None:
        """A key came."""
        self._key_at = self._clock()

    def look(self) -> None:
        """Clear away, if it is time and nobody waits."""
        now = self._clock()
        passed = now - self._last
        if passed < self._apart or (now - self._key_at < PAUSE and passed < AT_LATEST):
            return
        self._collect()
        self._last = self._clock()
        self._apart = max(APART, TIMES * (self._last - now))
