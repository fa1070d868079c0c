"""What is wrong in a suffix, and the check that its brackets match and hold something."""

from __future__ import annotations

import re

from engine.chord.words import CLOSES

_BRACKET = re.compile(r"[()\[\]]")


class SuffixError(Exception):
    """What can't be read and where; `instead` stands well in its place, if anything is known."""

    def __init__(
        self, message: str, cure: str, start: int, stop: int, instead: str | None = None
    ) -> None:
        super().__init__(message)
        self.message, self.cure, self.start, self.stop = message, cure, start, stop
        self.instead = instead

    def later(self, by: int) -> SuffixError:
        """The same error in a text that has `by` signs more before it."""
        start, stop = self.start + by, self.stop + by
        return SuffixError(self.message, self.cure, start, stop, self.instead)


def check_brackets(text: str) -> None:
    """Every bracket holds something and is closed. Raises SuffixError."""
    if not _BRACKET.search(text):
        return
    opened: list[int] = []
    for at, sign in enumerate(text):
        if sign in CLOSES.values():
            opened.append(at)
        elif sign in CLOSES:
            start = opened.pop() if opened else None
            if start is None or text[start] != CLOSES[sign]:
                raise SuffixError(
                    "a bracket is closed that is not open", "leave it out", at, at + 1,
                    "" if start is None else None,
                )  # fmt: skip
            if not text[start + 1 : at].strip():
                raise SuffixError(
                    "nothing stands in the brackets", "leave them out", start, at + 1, ""
                )  # fmt: skip
    if opened:
        at = opened[-1]
        raise SuffixError("a bracket is not closed", "close it, like C7(b9)", at, at + 1, "")
