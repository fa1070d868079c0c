"""The left hand's strokes: its figure over the bass, octaves at the peak, pickups."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from engine.arrange.bass import clear_from, offset
from engine.arrange.costs import costs, felt
from engine.arrange.laid import Laid, follows
from engine.arrange.line import Row, Stroke, row_of, silence
from engine.figures import ALONE, FigureSlot
from engine.hands import Tones
from engine.part import Role

_ACCENT = 7
#: The lowest key a doubled bass goes down to.
DEEPEST = 28


@dataclass(frozen=True, slots=True)
class Under:
    """What the left hand is to do at one harmony.

    `low` is its bass as a MIDI number, `octaves` doubles it an octave below,
    `pickup` is a passing note into the next bass in the last slot, or None.
    """

    low: int
    reach: int
    octaves: bool = False
    pickup: int | None = None


@lru_cache(maxsize=16384)
def left_strokes(tones: Tones, slots: tuple[FigureSlot, ...], under: Under) -> Row:
    """The strokes of one harmony; what is beyond reach is broken, the bass first."""
    strokes: list[Stroke] = []
    for index, slot in enumerate(slots):
        wished = slot.tokens and slot.tokens[0] in ALONE
        if not slot.tokens or (wished and under.pickup is None):
            held = slot.hold or (wished and index > 0)
            strokes.append(Stroke(() if held else None, text="." if held else "x"))
            continue
        strokes.append(
            _pickup(tones, under) if wished else _struck(tones, slot, under, first=index == 0)
        )
    if under.pickup is not None and not strokes[-1].cell:
        strokes[-1] = _pickup(tones, under)
    return row_of(tuple(strokes))


def _struck(tones: Tones, slot: FigureSlot, under: Under, *, first: bool) -> Stroke:
    notes = {under.low + offset(tones, token): _role(token) for token in slot.tokens}
    if first and under.octaves and slot.tokens in (("R",), ("R", "8")):
        notes = {under.low - 12: Role.BASS, under.low: Role.DOUBLING}
    ordered = sorted(notes.items())
    late = ordered[-1][0] - ordered[0][0] > under.reach
    if late:
        # What follows the bass is struck together, so it has to be in reach too.
        ordered = [ordered[0], *(n for n in ordered[1:] if n[0] - ordered[1][0] <= under.reach)]
    cell = tuple(midi for midi, _ in ordered)
    roles = tuple(role if midi % 12 in tones.pcs else Role.ADDED for midi, role in ordered)
    return Stroke(
        cell,
        roles,
        slot.text,
        loud=_ACCENT if slot.accent else 0,
        rings=slot.rings,
        rolled=slot.rolled,
        late=late,
    )


_ROLES = {"R": Role.BASS, "5-": Role.BASS, "8": Role.DOUBLING}


def _role(token: str) -> Role:
    return _ROLES.get(token, Role.CHORD)


def _pickup(tones: Tones, under: Under) -> Stroke:
    assert under.pickup is not None
    why = f"walks from {tones.pitch(under.low).note.symbol} into the next bass"
    return Stroke((under.pickup,), (Role.PASSING,), "p", (why,))


def pickup(tones: Tones, slots: tuple[FigureSlot, ...], low: int, following: int) -> int | None:
    """A passing note by step from the last bass note to the next bass, or None.

    It needs a free last slot, and a bass that was the last thing struck.
    """
    if len(slots) < 3 or (slots[-1].tokens and slots[-1].tokens[0] not in ALONE):
        return None
    last = next((slot.tokens for slot in reversed(slots[:-1]) if slot.tokens), ())
    if last != ("R",) or abs(following - low) not in (3, 4):
        return None
    between = tones.step_from(low, 1 if following > low else -1)
    steps = abs(between - low), abs(following - between)
    if max(steps) > 2 or between % 12 in tones.pcs:
        return None
    return between


def _begun(item: Laid) -> bool:
    """Whether a harmony's left hand begins with the bass, so that a walk into it arrives."""
    first = next((slot.tokens for slot in item.left if slot.tokens), ())
    return bool(item.kept) or "R" in first


def left_rows(laid: Sequence[Laid], basses: Sequence[int], reach: int) -> list[Row]:
    """The left hand's strokes over every harmony."""
    table = costs()["doubling"]
    rows = []
    for index, (item, low) in enumerate(zip(laid, basses, strict=True)):
        wanted = felt(item.bar.settings.doubling)
        price = table["left_price"] + (table["left_peak"] if item.peak else 0)
        price -= table["reward"] * wanted + table["height"] * item.height
        octaves = wanted > 0 and price < 0 and low - 12 >= DEEPEST and reach >= 12
        octaves = octaves and low - 12 >= clear_from(item.tones, item.left)
        between = None
        if index + 1 < len(laid) and follows(item, laid[index + 1]) and _begun(laid[index + 1]):
            ends = item.phrase[0] == item.phrase[1] - 1
            wish = any(slot.tokens == ("p",) for slot in item.left)
            if wish or (ends and (item.bar.settings.outside or 0) >= 0.2 and not octaves):
                between = pickup(item.tones, item.left, low, basses[index + 1])
        rows.append(
            silence(item)
            if item.kept
            else left_strokes(item.tones, item.left, Under(low, reach, octaves, between))
        )
    return rows
