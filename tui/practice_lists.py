"""The list of dials, turned where they stand, and the practice plan, walked block by block."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from engine.errors import InputError
from engine.workshop import (
    Extent,
    Outcome,
    Work,
    dials,
    part_of,
    practice,
    refuse,
    sitting,
    typing,
)
from engine.workshop.plan import Block
from tui.item import Item

#: Minutes that ← and → take from a sitting or add to it.
MINUTES = 15
_REACHES = {Extent.SECTION: Extent.SONG, Extent.SONG: Extent.SECTION, Extent.BAR: Extent.SECTION}


def dial_items(work: Work) -> list[Item]:
    """A line for each dial: how it stands and what it is."""
    return [
        Item(
            each.title,
            each.shown(work),
            turn=each.turn,
            run=each.press or partial(typing.edit_dial, which=each),
            stays=each.press is not None,
        )
        for each in dials()
    ]


def plan_items(work: Work) -> tuple[Item, ...]:
    """A line for each block of the plan."""
    found = work.sitting
    if found is None:
        return ()
    return tuple(_block(found, number, block) for number, block in enumerate(found.blocks))


def _block(found: sitting.Sitting, number: int, block: Block) -> Item:
    mark = "✓" if number in found.done else "►" if number == found.at else " "
    first, last = block.bars
    bars = f"{first}" if first == last else f"{first}–{last}"
    tempo = f"{block.tempo:g} to {block.goal:g}" if block.tempo < block.goal else f"{block.goal:g}"
    minutes = f"{block.minutes} min"
    if number == found.at and number not in found.done:
        minutes = f"{int(found.seconds // 60)}/{minutes}"
    label = f"{bars:<6} {block.hands:<6} {minutes:<7} {tempo}"
    why = block.why + (", then rest five minutes" if block.rest else "")
    return Item(label, why, f"{mark} {number + 1}", run=partial(sitting.begin_block, number=number))


def press(work: Work, key: str, item: Item | None) -> Outcome:
    """← → Tab and Space in one of these lists."""
    if key == "space":
        return practice.play_or_stop(work)
    found = work.sitting
    count = 1 if key == "right" else -1
    if item is not None and item.turn is not None and key != "tab":
        try:
            turned = item.turn(work, count)
        except InputError as error:
            return Outcome(refuse(work, f"{error.message}; {error.cure}"))
        return Outcome(refuse(work, "This is as far as it goes") if turned == work else turned)
    if found is None or work.chooser is None or work.chooser.kind.value != "practice plan":
        return Outcome(refuse(work, "Enter sets this one"))
    extent = _REACHES[found.extent] if key == "tab" else found.extent
    minutes = found.minutes if key == "tab" else found.minutes + count * MINUTES
    if not MINUTES <= minutes <= 8 * MINUTES:
        return Outcome(refuse(work, f"A plan is for {MINUTES} to {8 * MINUTES} minutes"))
    again = sitting.planned(work, part_of(work.song), extent, minutes)
    return Outcome(replace(again, chooser=replace(work.chooser, index=0)))
