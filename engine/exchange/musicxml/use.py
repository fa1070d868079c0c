"""Who reads a document, and what all its writers share: elements, ticks, staves."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from lxml import etree
from lxml.etree import _Element as Element


class Use(StrEnum):
    """Who reads the document.

    For `EXCHANGE` it says what is meant: numerals as words, a symbol's degrees,
    loudness, new systems.
    For `ENGRAVING` it says what is drawn: numerals as harmony under the staff,
    the symbol's text alone, and each system on a page of its own, without the
    section's letter, name and tempo, which stand over it as text.
    """

    EXCHANGE = "exchange"
    ENGRAVING = "engraving"


@dataclass(frozen=True, slots=True)
class Frame:
    """What holds in a whole part: divisions of a quarter note, staves, the document's reader."""

    divisions: int
    staves: int
    engraving: bool

    def ticks(self, length: Fraction) -> int:
        ticks = length * 4 * self.divisions
        assert ticks.denominator == 1
        return int(ticks)

    def staff(self, element: Element, number: int) -> None:
        """Say the staff, where a part has several."""
        if self.staves > 1:
            add(element, "staff", number)

    def end_direction(self, direction: Element, offset: Fraction, staff: int) -> None:
        """Close a direction or harmony with how far it stands from here, and its staff."""
        if offset:
            add(direction, "offset", self.ticks(offset))
        self.staff(direction, staff)


def add(parent: Element, tag: str, text: object = None, /, **attributes: str) -> Element:
    """A new last child; underscores in names of attributes stand for hyphens."""
    child = etree.SubElement(
        parent, tag, {name.replace("_", "-"): value for name, value in attributes.items()}
    )
    if text is not None:
        child.text = str(text)
    return child


def number(value: float) -> str:
    """A decimal of at most three places."""
    return f"{value:.3f}".rstrip("0").rstrip(".")
