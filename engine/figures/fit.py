"""Fitting a figure to a meter by its beat groups, and to chord changes inside the bar.

A meter's bar is a row of cells: beats in simple meters, beat groups in compound
and uneven ones. A figure that was made for another meter gives each cell the
slots that begin one of its own cells and run on from there, so that a group is
never cut off in its middle to make the numbers fit.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from math import lcm

from engine.figures.value import HOLD, Figure, FigureSlot
from engine.meter import Meter

#: Slots a simple cell (a beat) may hold.
_SIMPLE = (1, 2, 3, 4, 6, 8)
#: Meters a typed figure may have been thought in, when it doesn't fit the bar's own.
_LIKELY = ("4/4", "3/4", "6/8", "12/8", "5/4", "7/8", "9/8")


@lru_cache(maxsize=64)
def cells(meter: Meter) -> tuple[int, ...]:
    """The bar's cells, each as its number of pulses: 1 for a simple beat.

    4/4 gives (1, 1, 1, 1), 2/2 the same (quarters), 6/8 (3, 3), 7/8 (2, 2, 3).
    """
    if meter.unit >= 8:
        if max(meter.groups) > 1:
            return meter.groups
        pairs, rest = divmod(meter.count, 2)
        return (1,) * meter.count if meter.count <= 3 else (2,) * pairs + (1,) * rest
    if meter.unit == 4:
        return (1,) * meter.count
    return (1,) * (meter.count * 4 // meter.unit)


def _pulsed(meter: Meter) -> bool:
    return meter.unit >= 8


def _direct(count: int, meter: Meter) -> bool:
    """Whether `count` equal slots fill the bar as it stands, each cell evenly."""
    sizes = cells(meter)
    if _pulsed(meter):
        pulses = sum(sizes)
        return count in (pulses, 2 * pulses, len(sizes)) and (
            count != len(sizes) or len(set(sizes)) == 1
        )
    if count >= len(sizes):
        return count % len(sizes) == 0 and count // len(sizes) in _SIMPLE
    return len(sizes) % count == 0


def _grid(figure: Figure, meter: Meter) -> tuple[tuple[FigureSlot, ...], ...]:
    """The figure's slots by the cells of a meter it fits directly, one tuple a cell."""
    sizes = cells(meter)
    slots = figure.slots
    if len(slots) < len(sizes) or (_pulsed(meter) and len(slots) == len(sizes)):
        slots = stretched(slots, len(sizes) // len(slots) if len(slots) < len(sizes) else 1)
        return tuple((slot,) for slot in slots)
    per = len(slots) // sum(sizes)
    out, at = [], 0
    for size in sizes:
        out.append(slots[at : at + size * per])
        at += size * per
    return tuple(out)


def stretched(slots: tuple[FigureSlot, ...], factor: int) -> tuple[FigureSlot, ...]:
    """The same rhythm on a grid `factor` times as fine."""
    if factor == 1:
        return slots
    filler = tuple(HOLD for _ in range(factor - 1))
    rest = tuple(FigureSlot() for _ in range(factor - 1))
    out: list[FigureSlot] = []
    for slot in slots:
        out.append(slot)
        out.extend(filler if slot.tokens or slot.hold else rest)
    return tuple(out)


def _source(figure: Figure, meter: Meter) -> tuple[tuple[FigureSlot, ...], ...]:
    """The figure by the cells of a meter it was made for, or of a likely one."""
    count = len(figure.slots)
    for candidate in (figure.meter, *(Meter.parse(name) for name in _LIKELY)):
        if candidate is not None and _direct(count, candidate):
            return _grid(figure, candidate)
    size = max(cells(meter)) if _pulsed(meter) else 2
    groups = [list(figure.slots[at : at + size]) for at in range(0, count, size)]
    groups[-1] += [HOLD] * (size - len(groups[-1]))
    return tuple(tuple(group) for group in groups)


def fit(figure: Figure, meter: Meter) -> Figure:
    """The figure in equal slots over one bar of the meter."""
    return _fit(figure, meter)


@lru_cache(maxsize=1024)
def _fit(figure: Figure, meter: Meter) -> Figure:
    made_for = figure.meter
    same = made_for is None or made_for.bar == meter.bar or cells(made_for) == cells(meter)
    if same and _direct(len(figure.slots), meter):
        groups = _grid(figure, meter)
    else:
        groups = _carried(_source(figure, meter), meter)
        figure = replace(figure, strokes=())
    sizes = cells(meter)
    # Slots a pulse, fine enough for the busiest cell: then all slots are equal.
    per = [Fraction(len(group), size) for group, size in zip(groups, sizes, strict=True)]
    pulse = lcm(*(share.numerator for share in per))
    slots: list[FigureSlot] = []
    for group, size in zip(groups, sizes, strict=True):
        slots += stretched(group, pulse * size // len(group))
    finer = len(slots) // len(figure.slots)
    strokes = tuple(at * finer for at in figure.strokes)
    return replace(figure, slots=tuple(_opened(slots)), meter=meter, strokes=strokes)


def _opened(slots: list[FigureSlot]) -> list[FigureSlot]:
    """A hold with nothing before it is a rest."""
    while slots and slots[0].hold:
        first = next((n for n, slot in enumerate(slots) if not slot.hold), len(slots))
        slots = [FigureSlot()] * first + slots[first:]
    return slots


def _carried(
    source: tuple[tuple[FigureSlot, ...], ...], meter: Meter
) -> tuple[tuple[FigureSlot, ...], ...]:
    """The source's cells carried over to the meter's, each running on from where it begins."""
    flow = [slot for group in source for slot in group]
    starts, at = [], 0
    for group in source:
        starts.append(at)
        at += len(group)
    level = _level(source)
    out = []
    sizes = cells(meter)
    restart = 0
    for index, size in enumerate(sizes):
        if not _pulsed(meter) and len(meter.groups) < len(sizes) and index in _heads(meter):
            restart = index
        local = index - restart
        here = (
            (index * len(source)) // len(sizes)
            if len(sizes) <= len(source)
            else local % len(source)
        )
        wanted = _wanted(level, size, pulsed=_pulsed(meter))
        out.append(_run(flow, starts[here], wanted))
    return tuple(out)


@lru_cache(maxsize=64)
def _heads(meter: Meter) -> frozenset[int]:
    heads, at = set(), 0
    per = max(1, 4 // meter.unit)
    for size in meter.groups:
        heads.add(at)
        at += size * per
    return frozenset(heads)


def _level(source: tuple[tuple[FigureSlot, ...], ...]) -> int:
    """0 one slot a cell, 1 its division, 2 its subdivision."""
    widest = max(len(group) for group in source)
    return 0 if widest == 1 else 1 if widest <= 3 else 2


def _wanted(level: int, size: int, *, pulsed: bool) -> int:
    if level == 0:
        return 1
    return size * level if pulsed else 2 * level


def _run(flow: list[FigureSlot], start: int, wanted: int) -> tuple[FigureSlot, ...]:
    taken = [flow[(start + n) % len(flow)] for n in range(wanted)]
    return tuple(taken)


def over_changes(
    figure: Figure, meter: Meter, spans: tuple[tuple[Fraction, Fraction], ...]
) -> tuple[tuple[FigureSlot, ...], ...]:
    """The figure's slots for each (onset, duration) of a bar's harmonies, whole notes.

    Each change restarts the figure, unless the figure begins again there by
    itself or a stroke says that it goes on. The grid is made finer where a change
    falls between slots, so every tuple fills its span with equal slots.
    """
    return _over_changes(figure, meter, spans)


@lru_cache(maxsize=2048)
def _over_changes(
    figure: Figure, meter: Meter, spans: tuple[tuple[Fraction, Fraction], ...]
) -> tuple[tuple[FigureSlot, ...], ...]:
    fitted = fit(figure, meter)
    whole = fitted.slots
    if len(spans) == 1 and spans[0][1] == meter.bar:
        return (whole,)
    factor = 1
    for onset, duration in spans:
        for time in (onset, duration):
            at = time / meter.bar * len(whole)
            factor = lcm(factor, at.denominator)
    fine = stretched(whole, factor)
    out = []
    for onset, duration in spans:
        start = int(onset / meter.bar * len(fine))
        length = int(duration / meter.bar * len(fine))
        own = fine[start : start + length]
        stroke = start in [at * factor for at in fitted.strokes]
        again = onset == 0 or stroke or (own and own[0].tokens and own[0] == fine[0])
        sounds = any(slot.tokens for slot in own)
        out.append(_clean(own if stroke or (again and sounds) else _restarted(fine, length)))
    return tuple(out)


def _restarted(slots: tuple[FigureSlot, ...], length: int) -> tuple[FigureSlot, ...]:
    """The figure's beginning; where that is silent, from its first note on."""
    if any(slot.tokens for slot in slots[:length]):
        return slots[:length]
    first = next((at for at, slot in enumerate(slots) if slot.tokens), 0)
    return (slots[first:] + slots[:first])[:length]


def _clean(slots: tuple[FigureSlot, ...]) -> tuple[FigureSlot, ...]:
    return tuple(_opened(list(slots)))
