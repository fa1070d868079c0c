"""Which figure each hand plays in each bar: the written one, or a default that suits."""

from __future__ import annotations

import tomllib
from functools import lru_cache

import shared
from engine.figures import Figure, find_figure
from engine.meter import Meter
from engine.song import Hand

#: Meters without a table of their own take another's figures, fitted.
_NEAR = {"2/4": "4/4", "5/4": "4/4", "7/8": "4/4", "9/8": "12/8", "3/8": "3/4", "3/2": "4/4"}


@lru_cache(maxsize=1)
def _defaults() -> dict[str, dict[str, list[tuple[float, str]]]]:
    table = tomllib.loads(shared.text("tables", "default_figures.toml"))
    return {
        row["meter"]: {
            hand: [(float(item["to"]), str(item["figure"])) for item in row[hand]]
            for hand in ("right", "left")
        }
        for row in table["meter"]
    }


@lru_cache(maxsize=512)
def default_figure(hand: Hand, meter: Meter, level: float, section: int) -> Figure:
    """The figure a hand plays where none is written.

    `level` from 0 to 1 is how much is asked for (`busy`, and how high the bar
    stands on the arc); `section` turns through what fits, so that the figure
    changes where a section begins.
    """
    table = _defaults()
    name = _NEAR.get(f"{meter.count}/{meter.unit}", f"{meter.count}/{meter.unit}")
    if name not in table:
        name = "6/8" if meter.compound else "3/4" if meter.count % 3 == 0 else "4/4"
    rows = table[name][hand.value]
    choice = next((names for to, names in rows if level < to), rows[-1][1])
    names = choice.split(" | ")
    return find_figure(names[section % len(names)], hand, meter)
