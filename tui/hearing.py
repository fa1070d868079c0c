"""The MIDI keyboard that the screen listens to: opened off the key path, asked at each tick."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from engine.play.listen import Keyboard


class Hearing:
    """The keyboard, once it was asked for. `opener` opens it; it may take its time."""

    def __init__(self, opener: Callable[[], Keyboard] | None = None) -> None:
        self._opener = opener
        self._keyboard: Keyboard | None = None
        self._thread: threading.Thread | None = None

    def ask(self) -> None:
        """Open the keyboard, on a thread of its own; from then on it is taken up when it comes."""
        if self._thread is not None:
            return
        self._thread = threading.Thread(target=self._open, name="keyboard", daemon=True)
        self._thread.start()

    def _open(self) -> None:
        if self._opener is not None:
            self._keyboard = self._opener()
            return
        from engine.play.listen import Keyboard

        self._keyboard = Keyboard.open()

    @property
    def looked(self) -> bool:
        """Whether it has been looked for, with or without success."""
        return self._keyboard is not None

    @property
    def name(self) -> str:
        """Its name, empty while none is there."""
        return self._keyboard.name if self._keyboard is not None and not self.notice else ""

    @property
    def notice(self) -> str:
        """Why none is heard, and what would help; empty where one is."""
        return self._keyboard.notice if self._keyboard is not None else ""

    def fetch(self) -> list[tuple[int, bool]]:
        """The (key, struck) that have come since the last call."""
        return self._keyboard.fetch() if self._keyboard is not None else []

    def close(self) -> None:
        if self._keyboard is not None:
            self._keyboard.close()
