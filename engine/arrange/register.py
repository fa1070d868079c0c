"""Where both hands lie: the bass line and the row of shapes, each one search over the song.

A pin is hard where it stands, and sets the register the rest of its section
keeps to, the right hand's by how far the bass is from its own.
"""

from __future__ import annotations

from collections.abc import Sequence

from engine.arrange import bass, skeleton
from engine.arrange.costs import Take
from engine.arrange.ground import Pin
from engine.arrange.laid import Laid
from engine.hands import ShapeSet
from engine.hands.shapes import Pitches
from engine.song import REGISTERS

_FOURTH = 5


def choose_basses(laid: Sequence[Laid], take: Take) -> tuple[list[Laid], list[int]]:
    """The harmonies, figures opened over low basses, and the bass of each as a MIDI number."""
    stages = []
    anchor: Pin | None = None
    for index, item in enumerate(laid):
        anchor = _anchor(laid, index, anchor)
        alone = all(not slot.tokens for slot in item.right)
        centre, ceiling = (60, 80) if alone else (43 - round(3 * item.height), 58)
        if anchor is not None and anchor.bass is not None:
            centre = anchor.bass
            ceiling = anchor.pitches[0] if anchor.pitches else max(ceiling, centre + 14)
        tokens = bass.tokens_of(item.left)
        options = bass.bass_set(item.tones, tokens, centre, ceiling)
        if item.pin is not None and item.pin.bass is not None:
            options = bass.pinned(item.pin.bass, options.top)
        stages.append(options)
    noise = None
    if not take.calm:
        noise = [
            tuple(take.shift("bass", item.bar.section, index, at) for at in range(len(options)))
            for index, (item, options) in enumerate(zip(laid, stages, strict=True))
        ]
    chosen = bass.choose_basses(stages, noise)
    out = [
        item.over(bass.opened_slots(item.tones, item.left)) if opened else item
        for item, (_, opened) in zip(laid, chosen, strict=True)
    ]
    return out, [midi for midi, _ in chosen]


def _anchor(laid: Sequence[Laid], index: int, before: Pin | None) -> Pin | None:
    """The last pin of the section so far: the rest of the section keeps to its register."""
    item = laid[index]
    if index and laid[index - 1].bar.section != item.bar.section:
        before = None
    if item.pin is None or before is None:
        return item.pin or before
    return Pin(item.pin.pitches or before.pitches, bass=item.pin.bass or before.bass)


def shape_sets(
    laid: Sequence[Laid], basses: Sequence[int], reach: int
) -> tuple[list[ShapeSet], list[int]]:
    """The shapes each harmony has to choose from, in its register; where its top note aims."""
    stages, targets = [], []
    anchor: Pin | None = None
    for index, (item, low) in enumerate(zip(laid, basses, strict=True)):
        anchor = _anchor(laid, index, anchor)
        over = item.left_top(low)
        lift = REGISTERS[item.bar.settings.register or "middle"]
        bounds = skeleton.window(item.height, over, item.ceiling, lift)
        target = skeleton.top_target(item.height) + lift
        if anchor is not None and anchor.pitches:
            # Where the bass sinks below its pin by more than a fourth, the right hand goes along.
            sinks = max(0, anchor.bass - low - _FOURTH) if anchor.bass is not None else 0
            floor = max(over + 1, anchor.pitches[0] - 4 - sinks)
            bounds = floor, max(anchor.pitches[-1] + 5 - sinks, floor + 15)
            target = anchor.pitches[-1] - sinks
        stages.append(skeleton.stage(item.tones, bounds, item.pin, reach))
        targets.append(target)
    return stages, targets


def choose_shapes(
    laid: Sequence[Laid], basses: Sequence[int], reach: int, take: Take
) -> list[Pitches]:
    """The right hand's shape at each harmony."""
    stages, targets = shape_sets(laid, basses, reach)
    heard = [(skeleton.positions(item.right), item.needs) for item in laid]
    again = [
        index > 0
        and laid[index - 1].tones is item.tones
        and laid[index - 1].bar.section == item.bar.section
        for index, item in enumerate(laid)
    ]
    noise = None
    if not take.calm:
        noise = [
            tuple(take.shift("shape", item.bar.section, index, at) for at in range(len(stage)))
            for index, (item, stage) in enumerate(zip(laid, stages, strict=True))
        ]
    return skeleton.choose(stages, targets, heard, again, noise)
