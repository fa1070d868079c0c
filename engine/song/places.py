"""Where in a TOML text each value stands: an index of offsets beside the parsed values.

The text is one that has been parsed already, so the walk may trust its form;
it follows TOML 1.0 (toml.io) for keys, tables and the four kinds of string.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

Path = tuple[str | int, ...]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SCALAR = re.compile(r"[^\s,#\]\}]+(?: \d\d:[^\s,#\]\}]+)?")
_ESCAPES = {"b": 1, "t": 1, "n": 1, "f": 1, "r": 1, '"': 1, "\\": 1, "u": 5, "U": 9}


@dataclass(frozen=True, slots=True)
class Spot:
    """Offsets of a value: its key and its content (inside the quotes of a text).

    `quote` is the string's quote as written, empty for other values.
    """

    key: tuple[int, int]
    value: tuple[int, int]
    quote: str = ""


def spots(text: str) -> dict[Path, Spot]:
    """The spot of every value and table, by path; arrays count from 0."""
    return _Walk(text).walk()


def letters(text: str, spot: Spot) -> list[int]:
    """The offset in the text of each character of a string value, and of its end."""
    at, end = spot.value
    escaped = '"' in spot.quote
    offsets: list[int] = []
    while at < end:
        if escaped and text[at] == "\\":
            rest = re.match(r"\\[ \t]*\r?\n[ \t\r\n]*", text[at:end])
            if rest:
                at += rest.end()
                continue
            offsets.append(at)
            at += 1 + _ESCAPES.get(text[at + 1], 1)
            continue
        offsets.append(at)
        at += 2 if text.startswith("\r\n", at) else 1  # one letter, as TOML reads it
    return [*offsets, end]


class _Walk:
    """One pass over the text; `at` is the offset of what is not read yet."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.found: dict[Path, Spot] = {}
        self.lists: dict[Path, int] = {}  # how many tables of [[ ]] so far

    def walk(self) -> dict[Path, Spot]:
        table: Path = ()
        self._blank()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._blank()
        return self.found

    def _blank(self) -> None:
        match = _BLANK.match(self.text, self.at)
        assert match is not None
        self.at = match.end()

    def _spaces(self) -> None:
        while self.text[self.at : self.at + 1] in (" ", "\t"):
            self.at += 1

    def _header(self) -> Path:
        double = self.text.startswith("[[", self.at)
        self.at += 2 if double else 1
        start = self.at
        keys = self._keys()
        path: Path = ()
        for index, (name, _) in enumerate(keys):
            path = (*path, name)
            if index < len(keys) - 1 and path in self.lists:
                path = (*path, self.lists[path] - 1)
        if double:
            self.lists[path] = self.lists.get(path, 0) + 1
            path = (*path, self.lists[path] - 1)
        end = self.at
        self.at += 2 if double else 1
        self.found[path] = Spot(keys[-1][1], (start, end))
        return path

    def _keys(self) -> list[tuple[str, tuple[int, int]]]:
        """A dotted key, as (name, offsets) pairs."""
        keys = []
        while True:
            self._spaces()
            start = self.at
            if self.text[self.at] in "\"'":
                spot = self._string((start, start))
                offsets = letters(self.text, spot)[:-1]
                name = "".join(self.text[at] for at in offsets)
            else:
                match = _BARE.match(self.text, self.at)
                assert match is not None
                self.at, name = match.end(), match[0]
            keys.append((name, (start, self.at)))
            self._spaces()
            if self.text[self.at : self.at + 1] != ".":
                return keys
            self.at += 1

    def _pair(self, table: Path) -> None:
        keys = self._keys()
        self.at += 1  # the equals sign
        self._spaces()
        path = table
        for name, offsets in keys[:-1]:
            path = (*path, name)
            self.found.setdefault(path, Spot(offsets, offsets))
        path = (*path, keys[-1][0])
        self._value(path, keys[-1][1])

    def _value(self, path: Path, key: tuple[int, int]) -> None:
        char, start = self.text[self.at], self.at
        if char in "\"'":
            self.found[path] = self._string(key)
        elif char == "[":
            self._list(path, key)
        elif char == "{":
            self._inline(path, key)
        else:
            match = _SCALAR.match(self.text, self.at)
            assert match is not None
            self.at = match.end()
            self.found[path] = Spot(key, (start, self.at))

    def _string(self, key: tuple[int, int]) -> Spot:
        mark = self.text[self.at]
        quote = mark * 3 if self.text.startswith(mark * 3, self.at) else mark
        start = self.at = self.at + len(quote)
        if len(quote) == 3 and (first := re.match(r"\r?\n", self.text[start : start + 2])):
            start += first.end()
        while not self.text.startswith(quote, self.at):
            self.at += 2 if mark == '"' and self.text[self.at] == "\\" else 1
        if len(quote) == 3:  # up to two quotes may stand before the closing three
            while self.text.startswith(mark, self.at + 3):
                self.at += 1
        end = self.at
        self.at += len(quote)
        return Spot(key, (start, end), quote)

    def _list(self, path: Path, key: tuple[int, int]) -> None:
        start = self.at
        self.at += 1
        index = 0
        self._blank()
        while self.text[self.at] != "]":
            self._value((*path, index), key)
            index += 1
            self._blank()
            if self.text[self.at] == ",":
                self.at += 1
                self._blank()
        self.at += 1
        self.found[path] = Spot(key, (start, self.at))

    def _inline(self, path: Path, key: tuple[int, int]) -> None:
        start = self.at
        self.at += 1
        self._blank()
        while self.text[self.at] != "}":
            self._pair(path)
            self._blank()
            if self.text[self.at] == ",":
                self.at += 1
                self._blank()
        self.at += 1
        self.found[path] = Spot(key, (start, self.at))
