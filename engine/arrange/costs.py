"""The costs the search weighs, read from shared/tables/arranging.toml, and what a take does."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import shared


@lru_cache(maxsize=1)
def costs() -> dict[str, Any]:
    """The table by name."""
    return tomllib.loads(shared.text("tables", "arranging.toml"))


@lru_cache(maxsize=256)
def felt(amount: float | None) -> float:
    """How much of an amount the search feels: a first step is heard, from `usual` on as written."""
    table = costs()["amount"]
    if not amount:
        return 0.0
    share = min(1.0, amount / table["usual"])
    return float(max(amount, table["least"] + (table["usual"] - table["least"]) * share))


@dataclass(frozen=True, slots=True)
class Take:
    """Which of the lawful parts is meant, section by section.

    The first take is calm: the best that is found, no cost moved.
    """

    numbers: tuple[int, ...]
    seed: int = 0

    @property
    def calm(self) -> bool:
        """Whether every section plays its first take."""
        return self.seed == 0 and all(number <= 1 for number in self.numbers)

    def shift(self, stage: str, section: int, *places: int) -> int:
        """How far a cost is moved at a place of a section: the same everywhere for a take."""
        number = self.numbers[section]
        if number <= 1 and self.seed == 0:
            return 0
        reach: int = costs()["take"][stage]
        value = 0x9E3779B1 * (number + 1) ^ 0x85EBCA6B * (self.seed + 1)
        for place in (len(stage), ord(stage[0]), *places):
            value = (value ^ (place + 0x7F4A7C15)) * 0x2545F491 & 0xFFFFFFFF
            value ^= value >> 15
        return value % (2 * reach + 1) - reach
