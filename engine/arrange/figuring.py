"""Which figure each hand plays in each bar: the written one or a default, and its variants.

A figure that is only repeated goes dead. So over a phrase the search chooses
among ways of playing it (begun elsewhere, turned over, its end reversed,
thinned to breathe, thickened on the accents), with a price on sameness that
grows and a price on change that falls where phrases begin and end.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import shared
from engine.arrange.costs import Take, costs
from engine.figures import (
    HOLD,
    Figure,
    FigureSlot,
    cells,
    find_figure,
    mirrored,
    parse_figure,
    reversed_tail,
    shifted,
    thickened,
    thinned,
)
from engine.hands import NEVER, cheapest
from engine.meter import Meter
from engine.song import Hand

#: Meters without a table of their own take another's figures, fitted.
_NEAR = {"2/4": "4/4", "5/4": "4/4", "7/8": "4/4", "9/8": "12/8", "3/8": "3/4", "3/2": "4/4"}
_BASE, _TURNED, _MIRRORED, _TAIL, _BREATH, _THICK, _LIFT = range(7)
_LONGEST_RUN = 4


@lru_cache(maxsize=1)
def _defaults() -> dict[str, dict[str, Any]]:
    table = tomllib.loads(shared.text("tables", "default_figures.toml"))
    return {row["meter"]: row for row in table["meter"]}


def _row(meter: Meter) -> dict[str, Any]:
    """The row of the table for a meter, or for one near it."""
    table = _defaults()
    name = f"{meter.count}/{meter.unit}"
    name = _NEAR.get(name, name)
    if name not in table:
        name = "6/8" if meter.compound else "3/4" if meter.count % 3 == 0 else "4/4"
    return table[name]


@lru_cache(maxsize=512)
def default_figure(hand: Hand, meter: Meter, level: float, section: int) -> Figure:
    """The figure a hand plays where none is written.

    `level` from 0 to 1 is how much is asked for (`busy`, and how high the bar
    stands on the arc); `section` turns through what fits, so that the figure
    changes where a section begins.
    """
    rows = _row(meter)[hand.value]
    choice = next((row for row in rows if level < row["to"]), rows[-1])
    names = choice["figure"].split(" | ")
    return find_figure(names[section % len(names)], hand, meter)


@lru_cache(maxsize=64)
def closing_figure(hand: Hand, meter: Meter) -> Figure:
    """What a hand plays towards the end: an arpeggio under block chords."""
    return find_figure(_row(meter)["closing"][hand.value], hand, meter)


@lru_cache(maxsize=64)
def sparse_left(meter: Meter) -> Figure:
    """What the left hand plays where an introduction begins."""
    return find_figure(_row(meter)["sparse"], Hand.LEFT, meter)


@dataclass(frozen=True, slots=True)
class Asked:
    """The right hand's figure as a bar has it; `exact` forbids variants.

    `phrase` is the bar's place in its phrase, `length` the phrase's; `height`
    is 0–1; `busy` the writer's amount; `sparse` asks for the figure thinned.
    """

    figure: Figure
    exact: bool
    phrase: int
    length: int
    height: float
    busy: float
    section: int
    sparse: bool


@lru_cache(maxsize=1024)
def variants(figure: Figure) -> tuple[Figure | None, ...]:
    """The ways of playing a figure, by number; None where one would be no different or unlawful."""
    tokens = {token for slot in figure.slots for token in slot.tokens}
    plain = tokens <= {"1", "2", "3", "4"}
    breath = _breathing(figure)
    if not plain:
        return (figure, None, None, None, breath, None, None)
    thick, lifted = _thick(figure), _lifted(figure)
    if any(slot.rings for slot in figure.slots):
        return (figure, None, None, None, breath, thick, lifted)
    turned, over, tail = shifted(figure, 2), mirrored(figure), reversed_tail(figure)
    found: list[Figure | None] = [figure]
    for other in (turned, over, tail):
        found.append(None if other.slots in [f.slots for f in found if f] else other)
    return (*found, breath, thick, lifted)


def _breathing(figure: Figure) -> Figure | None:
    """The second half thinned to its beats."""
    count = len(figure.slots)
    assert figure.meter is not None
    beats = sum(cells(figure.meter))
    every = max(2, count // beats)
    if figure.meter.unit >= 8:
        every = max(cells(figure.meter))
    keep = tuple(at < count // 2 or at % every == 0 for at in range(count))
    if figure.attacks < 5 or all(keep):
        return None
    return thinned(figure, keep)


def _lifted(figure: Figure) -> Figure | None:
    """The last note left out: the one before it is held to the bar's end."""
    count = len(figure.slots)
    if figure.attacks < 5 or not (figure.slots[-1].tokens and figure.slots[-2].tokens):
        return None
    return thinned(figure, tuple(at < count - 1 for at in range(count)))


def _thick(figure: Figure) -> Figure | None:
    where = tuple(slot.accent or at == 0 for at, slot in enumerate(figure.slots))
    thick = thickened(figure, where)
    return None if thick == figure else thick


def choose_figures(bars: Sequence[Asked], take: Take) -> list[Figure]:
    """The figure of each bar."""
    stages: list[int] = []
    local: list[tuple[int, ...]] = []
    for index, asked in enumerate(bars):
        edge = asked.phrase == 0 or asked.phrase == asked.length - 1
        same = index > 0 and bars[index - 1].figure is asked.figure
        stages.append(2 if index and not same else 1 if edge else 0)
        own = _prices(asked.figure, asked.exact, *_place(asked))
        if asked.sparse and own[_BREATH * _LONGEST_RUN] < NEVER:
            own = _only(_BREATH)
        if not take.calm:
            own = tuple(
                cost + (take.shift("figure", asked.section, index, number // _LONGEST_RUN))
                for number, cost in enumerate(own)
            )
        local.append(own)
    path = cheapest(stages, local, _moves)
    found = []
    for asked, state in zip(bars, path, strict=True):
        chosen = variants(asked.figure)[state // _LONGEST_RUN]
        found.append(chosen if chosen is not None else asked.figure)
    return found


def _busier(table: dict[str, Any], busy: int) -> int:
    """What it adds to a breath's cost how busy (in tenths) a bar is."""
    return int(table["breath_busy"] * (busy - 4)) // 10


@lru_cache(maxsize=1)
def _only(variant: int) -> tuple[int, ...]:
    """Costs that leave one variant."""
    states = range((_LIFT + 1) * _LONGEST_RUN)
    return tuple(0 if state // _LONGEST_RUN == variant else NEVER for state in states)


def _place(asked: Asked) -> tuple[int, int, int]:
    """The bar's place in its phrase, -1 the last; height and `busy` in tenths."""
    at = -1 if asked.phrase == asked.length - 1 else asked.phrase
    return at, round(10 * asked.height), round(10 * asked.busy)


@lru_cache(maxsize=4096)
def _prices(
    figure: Figure,
    exact: bool,
    phrase: int,
    height: int,
    busy: int,
) -> tuple[int, ...]:
    table = costs()["figure"]
    own = [
        0,
        table["turned"],
        table["mirrored"],
        table["tail"],
        (table["breath_at_end"] if phrase == -1 else table["breath"]) + _busier(table, busy),
        table["thick"] + (table["thick_height"] * height + table["thick_busy"] * busy) // 10,
        (table["lift_in_second"] if phrase == 1 else table["lift"]) + _busier(table, busy),
    ]
    options = variants(figure)
    found = []
    for number, cost in enumerate(own):
        lawful = options[number] is not None and (not exact or number == _BASE)
        cost += table["first"] if phrase == 0 and number else 0
        found += [cost if lawful else NEVER] * _LONGEST_RUN
    return tuple(found)


@lru_cache(maxsize=8)
def _endings(hand: Hand) -> tuple[tuple[FigureSlot, ...], tuple[FigureSlot, ...]]:
    """A hand's last harmony: the chord rolled, or rising and ringing over the bass."""
    rolled, rises = ("R8~", "R") if hand is Hand.LEFT else ("123~", "1_ 2_ 3_ 4_")
    return parse_figure(rolled, hand).slots, parse_figure(rises, hand).slots


def last_slots(hand: Hand, count: int, *, rises: bool) -> tuple[FigureSlot, ...]:
    """A hand's slots over the last harmony of a song, `count` of them."""
    rolled, rise = _endings(hand)
    head = rise if rises else rolled
    return (*head, *(HOLD for _ in range(count - len(head))))


@lru_cache(maxsize=8)
def _moves(_: int, later: int) -> tuple[tuple[int, ...], ...]:
    """States are variant and length of the run of it; a new figure (2) begins afresh."""
    table = costs()["figure"]
    change = (table["change"], table["change_at_phrase"], 0)[later]
    count = (_LIFT + 1) * _LONGEST_RUN
    rows = []
    for after in range(count):
        variant, run = divmod(after, _LONGEST_RUN)
        row = []
        for before in range(count):
            other, length = divmod(before, _LONGEST_RUN)
            if later < 2 and other == variant:
                fits = run == min(length + 1, _LONGEST_RUN - 1)
                row.append(table["run"][run] if fits else NEVER)
            else:
                row.append(change if run == 0 else NEVER)
        rows.append(tuple(row))
    return tuple(rows)
