"""Meters: the bar, its beat, and the groups its beats fall into.

Time is exact: a `Fraction` of a whole note.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from engine.errors import MeterError, Place

#: Groups of pulses for meters whose grouping is not given by the numerator alone.
_GROUPS = {(5, 4): (3, 2), (5, 8): (3, 2), (7, 4): (4, 3), (7, 8): (2, 2, 3)}


@dataclass(frozen=True, slots=True)
class Meter:
    """`count` notes of value 1/`unit` a bar, in `groups` of that unit.

    6/8 has two groups of three and a beat of a dotted quarter; 5/4 has five
    beats of a quarter in groups of 3 and 2; 4/4 four groups of one.
    """

    count: int
    unit: int
    groups: tuple[int, ...]

    @property
    def bar(self) -> Fraction:
        """Length of a bar in whole notes."""
        return Fraction(self.count, self.unit)

    @property
    def compound(self) -> bool:
        """Whether a beat is a dotted note (6/8, 9/8, 12/8)."""
        return self.unit >= 8 and self.count % 3 == 0 and self.count > 3

    @property
    def beat(self) -> Fraction:
        """The beat that tempo and dots count, in whole notes."""
        return Fraction(3 if self.compound else 1, self.unit)

    @property
    def beats(self) -> int:
        """How many beats a bar has."""
        return int(self.bar / self.beat)

    @property
    def group_lengths(self) -> tuple[Fraction, ...]:
        """Lengths of the beat groups in whole notes; they fill the bar."""
        return tuple(Fraction(size, self.unit) for size in self.groups)

    @property
    def group_starts(self) -> tuple[Fraction, ...]:
        starts, at = [], Fraction(0)
        for length in self.group_lengths:
            starts.append(at)
            at += length
        return tuple(starts)

    @property
    def middle(self) -> Fraction | None:
        """Where the bar divides into two for reading and half-bar changes, if it does."""
        if len(self.groups) >= 2 and len(self.groups) % 2 == 0:
            return sum(self.group_lengths[: len(self.groups) // 2], Fraction(0))
        if self.groups in ((3, 2), (2, 3), (4, 3)):
            return self.group_lengths[0]
        return None

    def strength(self, at: Fraction) -> int:
        """Metric weight of a place in the bar: 4 downbeat, 3 middle, 2 group, 1 pulse, 0 off."""
        if at == 0:
            return 4
        if at == self.middle:
            return 3
        if at in self.group_starts or at % self.beat == 0:
            return 2
        return 1 if (at * self.unit).denominator == 1 else 0

    @property
    def name(self) -> str:
        """`6/8`; unusual groups as `3+2+2/8`."""
        if self.groups == Meter.of(self.count, self.unit).groups:
            return f"{self.count}/{self.unit}"
        return f"{'+'.join(map(str, self.groups))}/{self.unit}"

    @classmethod
    def of(cls, count: int, unit: int) -> Meter:
        """The meter with its usual groups."""
        groups = _GROUPS.get((count, unit))
        if groups is None:
            threes = unit >= 8 and count % 3 == 0 and count > 3
            groups = (3,) * (count // 3) if threes else (1,) * count
        return cls(count, unit, groups)

    @classmethod
    def parse(cls, text: str) -> Meter:
        """Read `4/4`, `6/8`, `C`, `cut`, `3+2+2/8`. Raises MeterError."""
        plain = {"C": "4/4", "cut": "2/2", "C|": "2/2"}.get(text.strip(), text.strip())
        match = re.fullmatch(r"(\d{1,2}(?:\+\d{1,2})*)\s*/\s*(\d{1,2})", plain)
        if match:
            sizes = tuple(int(size) for size in match[1].split("+"))
            unit = int(match[2])
            if 0 < sum(sizes) <= 32 and min(sizes) > 0 and unit in (1, 2, 4, 8, 16):
                return cls(sum(sizes), unit, sizes) if len(sizes) > 1 else cls.of(sizes[0], unit)
        raise MeterError(
            f"“{text}” is not a meter",
            "write one like 4/4, 2/2 or 6/8, or with its groups: 3+2+2/8",
            Place(1, max(1, len(text)), text=text),
        )

    def __str__(self) -> str:
        return self.name
