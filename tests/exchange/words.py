"""The words in an engraved system's picture: where they stand and how much room they take."""

from __future__ import annotations

import re
from dataclasses import dataclass

_TEXT = r'<text(?: x="(-?\d+)")? y="(-?\d+)"([^>]*)>(.*?)</text>'
_RUN = r'<tspan([^>]*)font-size="(\d+)px"[^>]*>([^<]+)<'


@dataclass(frozen=True)
class Word:
    """A box in the picture's inner units, at its least: what is in it surely has ink."""

    text: str
    left: float
    right: float
    top: float
    bottom: float

    def meets(self, other: Word) -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


def words_of(svg: str) -> list[Word]:
    """Symbols, numerals, fingers and bar numbers.

    Letters of the text font are 0.4 em wide on the average at the least and 0.6 em high; the
    music font's flat and sharp are 0.2 em wide.
    """
    found = []
    for x, y, how, body in re.findall(_TEXT, svg, re.DOTALL):
        runs = re.findall(_RUN, body)
        plain = [int(size) for font, size, _ in runs if "font-family" not in font]
        if not plain:
            continue
        width = sum(
            len(letters.strip()) * int(size) * (0.2 if "font-family" in font else 0.4)
            for font, size, letters in runs
        )
        left = int(x or 0) - (width / 2 if "middle" in how else 0)
        text = "".join(letters.strip() for *_, letters in runs)
        found.append(Word(text, left, left + width, int(y) - 0.6 * max(plain), int(y)))
    return found
