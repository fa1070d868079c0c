"""The one error tree: every error says what was wrong, where, and what would be right.

AlbertiError
├── InputError        something a person wrote cannot be read (exit status 2)
│   ├── PitchError    a note name or an interval
│   ├── KeyNameError  a key
│   ├── MeterError    a meter
│   ├── ChordError    a chord symbol
│   ├── ChartError    a bar line of a chart
│   ├── FigureError   a figure token
│   ├── SongError     a song file
│   └── FileError     a file that is missing, of the wrong format, or cannot be written
└── SoundError        a device, library, soundfont or port that cannot be used
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

#: The longest line that is shown whole, and how much of a longer one stands before the span.
_LONGEST, _BEFORE = 160, 60


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a text something stands.

    `line` and `column` count from 1; `length` is the number of characters
    meant (at least 1); `text` is the whole line, for underlining; `file` is
    empty where there is none.
    """

    column: int = 1
    length: int = 1
    line: int = 1
    text: str = ""
    file: str = ""

    def shown(self) -> str:
        """`file:line:column`, without the file where there is none."""
        head = f"{self.file}:" if self.file else ""
        return f"{head}{self.line}:{self.column}"

    def underlined(self) -> str:
        """The line of text with the span marked under it, or nothing; of a long line its part."""
        if not self.text:
            return ""
        text, column = self.text, self.column
        if len(text) > _LONGEST:
            first = max(0, min(column - 1 - _BEFORE, len(text) - _LONGEST))
            text, column = text[first : first + _LONGEST], column - first
            text = f"{'…' if first else ''}{text[bool(first) :]}"
            if first + _LONGEST < len(self.text):
                text = f"{text[:-1]}…"
        marks = "^" * max(1, min(self.length, len(text) - column + 1))
        return f"  {text}\n  {' ' * (column - 1)}{marks}"


class AlbertiError(Exception):
    """Root of the tree. `message` says what was found, `cure` what would be right."""

    def __init__(self, message: str, cure: str = "", place: Place | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.cure = cure
        self.place = place

    def at(self, place: Place) -> Self:
        """The same error at a place known only higher up."""
        return type(self)(self.message, self.cure, place)

    def inside(self, *, file: str = "", line: int = 1, column: int = 1, text: str = "") -> Self:
        """The same error, its place moved into a larger text that begins at `line`, `column`."""
        inner = self.place or Place()
        moved = replace(
            inner,
            file=file or inner.file,
            line=line + inner.line - 1,
            column=inner.column + (column - 1 if inner.line == 1 else 0),
            text=text or inner.text,
        )
        return self.at(moved)

    def __str__(self) -> str:
        """One line: place, what was found, what would be right."""
        head = f"{self.place.shown()}: " if self.place else ""
        tail = f"; {self.cure}" if self.cure else ""
        return f"{head}{self.message}{tail}"

    def report(self) -> str:
        """The one line and, under it, the text with the span underlined.

        Of a word on the command line the underlined span alone says where.
        """
        under = self.place.underlined() if self.place else ""
        if self.place and under and not self.place.file and self.place.line == 1:
            return f"{type(self)(self.message, self.cure)}\n{under}"
        return f"{self}\n{under}" if under else str(self)


class InputError(AlbertiError):
    """Something a person wrote cannot be read."""


class PitchError(InputError):
    """A note name or interval cannot be read."""


class KeyNameError(InputError):
    """A key cannot be read."""


class MeterError(InputError):
    """A meter cannot be read."""


class ChordError(InputError):
    """A chord symbol cannot be read; `suggestion` is the nearest symbol, or empty."""

    def __init__(
        self, message: str, cure: str = "", place: Place | None = None, suggestion: str = ""
    ) -> None:
        super().__init__(message, cure, place)
        self.suggestion = suggestion

    def at(self, place: Place) -> Self:
        return type(self)(self.message, self.cure, place, self.suggestion)


class ChartError(InputError):
    """A chart cannot be read."""


class FigureError(InputError):
    """A figure cannot be read."""


class SongError(InputError):
    """A song file cannot be read."""


class FileError(InputError):
    """A file is missing, of the wrong format, or cannot be written."""


class SoundError(AlbertiError):
    """A device, library, soundfont or port cannot be used."""
