"""A sheet of cells to draw on: text at places, in named styles, turned into strips for the screen.

Drawing functions take values and return a `Sheet`; only here does a style's
name become a colour.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from unicodedata import normalize

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip

#: One character for each that a plain terminal may not have.
ASCII = str.maketrans(
    "♯♭♮°ø●○◐╴╶─│┌┐└┘├┤┬┴┼▌▐█►◄▮▯…–—·×“”‘’♩▲▼■→♪←↑↓✓",
    "#bno0Oo@---|+++++++++[]#><#.~--.x\"\"''q^v#>m<^v*",
)


#: Styles that change nothing but the ink: a blank looks the same in any of them.
INK = frozenset(
    {"", "bold", "dim", "faint", "rule", "title", "focus", "chart-title", "loop", "numeral"}
    | {"section", "outside", "doubling", "bass", "chord", "held", "refusal", "trouble", "key"}
    | {"open", "good", "off", "melody"}
)


class Sheet:
    """Rows of cells, each a character and the name of a style."""

    __slots__ = ("height", "rows", "styles", "width")

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = max(0, width), max(0, height)
        self.rows = [[" "] * self.width for _ in range(self.height)]
        self.styles = [[""] * self.width for _ in range(self.height)]

    def put(self, x: int, y: int, text: str, style: str = "", *, until: int | None = None) -> int:
        """Write text from column x of row y, cut at `until`; returns the column after it."""
        end = self.width if until is None else min(until, self.width)
        if not 0 <= y < self.height or x >= end:
            return x
        if not text.isprintable() or (not text.isascii() and not _is_narrow(text)):
            text = _narrow(text)
        if x < 0:
            text, x = text[-x:], 0
        text = text[: end - x]
        stop = x + len(text)
        self.rows[y][x:stop] = text
        self.styles[y][x:stop] = [style] * len(text)
        return stop

    def paint(self, x: int, y: int, width: int, style: str) -> None:
        """Give cells a style, whatever stands in them."""
        if 0 <= y < self.height and width > 0:
            start, stop = max(0, x), min(self.width, x + width)
            if stop > start:
                self.styles[y][start:stop] = [style] * (stop - start)

    def runs(self, y: int) -> Iterator[tuple[str, str]]:
        """The row as (text, style) runs; plain blanks join the run before, to keep runs few."""
        row, styles = self.rows[y], self.styles[y]
        if styles.count(styles[0] if styles else "") == self.width:
            yield "".join(row), styles[0] if styles else ""
            return
        start, style = 0, styles[0] if styles else ""
        for x in range(1, self.width):
            here = styles[x]
            if here == style or (here == "" and row[x] == " " and style in INK):
                continue
            yield "".join(row[start:x]), style
            start, style = x, here
        if self.width:
            yield "".join(row[start:]), style

    def text(self) -> str:
        """What a reader sees, without colours."""
        return "\n".join("".join(row).rstrip() for row in self.rows)


def strip_of(sheet: Sheet, y: int, styles: Mapping[str, Style], *, plain: bool) -> Strip:
    """One row of a sheet as a strip."""
    segments = [
        Segment(text.translate(ASCII) if plain else text, styles.get(style) or styles[""])
        for text, style in sheet.runs(y)
    ]
    return Strip(segments, sheet.width)


@lru_cache(maxsize=4096)
def _is_narrow(text: str) -> bool:
    """Whether each letter takes one cell: the widths of a text's letters may even out."""
    return all(cell_len(letter) == 1 for letter in text)


def _narrow(text: str) -> str:
    """Text with all that commands the terminal, or is not one cell wide, replaced."""
    letters = normalize("NFC", text)
    return "".join(
        letter if letter.isprintable() and cell_len(letter) == 1 else "?" for letter in letters
    )


def cut(text: str, width: int) -> str:
    """Text of at most so many cells, an ellipsis where it was cut."""
    if cell_len(text) <= width:
        return text
    return set_cell_size(text, max(0, width - 1)) + "…" if width > 0 else ""


def cut_between(text: str, width: int) -> str:
    """Text of at most so many cells, cut between words, an ellipsis for those that are left out."""
    if cell_len(text) <= width:
        return text
    head = cut(text, width - 1).rpartition(" ")[0].rstrip()
    return f"{head} …" if head else cut(text, width)


def wrapped(text: str, width: int, lines: int) -> list[str]:
    """Text broken at blanks into at most so many lines, an ellipsis where it does not fit."""
    out: list[str] = []
    words: Sequence[str] = text.split()
    line = ""
    for index, word in enumerate(words):
        longer = f"{line} {word}" if line else word
        if len(longer) <= width:
            line = longer
            continue
        if line:
            out.append(line)
        line = word
        if len(out) == lines:
            out[-1] = cut_between(out[-1] + " " + " ".join(words[index:]), width)
            return out
    if line:
        out.append(line)
    return [cut(each, width) for each in out[:lines]]
