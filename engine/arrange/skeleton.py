"""The right hand's shapes over the whole song, in a register that follows the arc.

The window's floor lies over the left hand's highest note, its place rises with
the bar's height; a pinned shape, inversion or top note leaves only what it
allows, and the rest adapts.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from engine.arrange.ground import Pin
from engine.figures import FigureSlot
from engine.hands import ShapeSet, Tones, choose_shapes, shapes
from engine.hands.shapes import Pitches

FLOOR = 55
#: The lowest a shape goes: half steps are clear from here on (shared/tables/low_limits.toml).
LEAST = 52
#: What a shape costs whose third or root the figure doesn't reach, where nothing else sounds it.
_UNHEARD = 90
WIDTH = 19
#: What draws the top note to its aim, in half costs a semitone.
DRAWN = 4
#: The top note's aim at heights 0 and 1.
LOW_TOP, HIGH_TOP = 66, 73


@lru_cache(maxsize=4096)
def window(height: float, over: int, ceiling: int, lift: int = 0) -> tuple[int, int]:
    """The lowest and highest note the shape may have, `lift` semitones higher than usual.

    It lies above the left hand's highest note `over`, and under the `ceiling`
    where that leaves an octave.
    """
    lift += 2 * min(2, int(height * 3))
    low = max(LEAST, FLOOR + lift, over + 1)
    high = max(FLOOR + WIDTH + lift, low + 15)
    if ceiling < high:
        low = max(over + 1, min(low, ceiling - 15))
        high = max(ceiling, low + 12)
    return low, high


def top_target(height: float) -> int:
    """Where the shape's top note aims to be."""
    return round(LOW_TOP + (HIGH_TOP - LOW_TOP) * height)


def stage(tones: Tones, bounds: tuple[int, int], pin: Pin | None, reach: int) -> ShapeSet:
    """The shapes to choose from at one harmony."""
    if pin is None or not (pin.pitches or pin.inversion is not None or pin.top or pin.top_pc):
        return shapes(tones, bounds[0], bounds[1], reach)
    return _pinned(tones, bounds, pin, reach)


@lru_cache(maxsize=512)
def _pinned(tones: Tones, bounds: tuple[int, int], pin: Pin, reach: int) -> ShapeSet:
    if pin.pitches:
        return ShapeSet(tones, (pin.pitches,), (0,))
    free = shapes(tones, 40 if pin.top else bounds[0], 90 if pin.top else bounds[1] + 5, reach)
    kept = list(zip(free.shapes, free.costs, strict=True))
    if pin.top is not None:
        kept = [item for item in kept if item[0][-1] == pin.top] or [
            (_hung(tones, pin.top), 0),
        ]
    if pin.top_pc is not None:
        kept = [item for item in kept if item[0][-1] % 12 == pin.top_pc] or kept
    if pin.inversion is not None:
        row = [pc for _, pc in tones.members]
        lowest = row[pin.inversion % len(row)]
        kept = [item for item in kept if item[0][0] % 12 == lowest] or kept
    return ShapeSet(tones, tuple(item[0] for item in kept), tuple(item[1] for item in kept))


def _hung(tones: Tones, top: int) -> Pitches:
    """A shape below a top note that is no member: the two nearest members under it."""
    below = [midi for midi in range(top - 10, top - 1) if midi % 12 in tones.pcs]
    return (*below[-2:], top)


def choose(
    stages: Sequence[ShapeSet],
    targets: Sequence[int],
    heard: Sequence[tuple[tuple[int, ...], tuple[int, ...]]],
    again: Sequence[bool],
    noise: Sequence[tuple[int, ...]] | None = None,
) -> list[Pitches]:
    """One shape for each harmony: movement and the top line first, then the arc's register.

    `heard` are the positions a figure strikes and the pitch classes it has to sound; a harmony
    struck `again` rather stays where it is than follow the arc.
    """
    local = [
        _local(stage, target, *struck, drawn=1 if same else DRAWN)
        for stage, target, struck, same in zip(stages, targets, heard, again, strict=True)
    ]
    if noise is not None:
        local = [
            tuple(cost + extra[at % len(extra)] for at, cost in enumerate(costs))
            for costs, extra in zip(local, noise, strict=True)
        ]
    return list(choose_shapes(stages, local))


@lru_cache(maxsize=2048)
def positions(slots: tuple[FigureSlot, ...]) -> tuple[int, ...]:
    """The positions of the shape that a figure strikes, from 0."""
    names = {name for slot in slots for name in slot.tokens}
    return tuple(at for at in range(4) if str(at + 1) in names)


@lru_cache(maxsize=8192)
def _local(
    stage: ShapeSet, target: int, struck: tuple[int, ...], needs: tuple[int, ...], *, drawn: int
) -> tuple[int, ...]:
    """What each shape costs at its place; the notes that are needed have to be struck.

    Half a `drawn` a semitone draws its top note to the target.
    """
    return tuple(
        cost
        + drawn * abs(shape[-1] - target) // 2
        + (_UNHEARD * sum(not _heard(shape, struck, pc) for pc in needs) if struck else 0)
        for shape, cost in zip(stage.shapes, stage.costs, strict=True)
    )


def _heard(shape: Pitches, struck: tuple[int, ...], pc: int) -> bool:
    return any(shape[at % len(shape)] % 12 == pc for at in struck)
