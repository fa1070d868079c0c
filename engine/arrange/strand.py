"""The right hand's figure over one harmony's shape, before anything is added to it.

A strand is a row of cells in equal time: a rest, a hold, or pitches struck
together. Tokens that depend on what surrounds them (`n`, `p`, `A`) are kept as
wishes beside a chord note that can stand in for them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from engine.arrange.bass import offset
from engine.figures import ALONE, FigureSlot
from engine.hands import Tones
from engine.hands.shapes import Pitches

#: Tokens that mean a step of the scale above the root.
_SCALE_STEPS = {"9": 1, "6": 5}
#: A note of the next chord.
_EARLY = "A"
#: A fourth in place of the third.
_FOURTH = "s"
#: A cell: None is a rest, () a hold.
Cell = Pitches | None


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """Cells of one harmony; `wishes` are (index, token), `added` indices of notes outside it.

    At the cells in `thirds` the left hand strikes the third; `sung` are (cell,
    pitch) pairs that would double a melody or rub against it.
    """

    cells: tuple[Cell, ...]
    wishes: tuple[tuple[int, str], ...]
    added: tuple[int, ...]
    accents: tuple[int, ...]
    tones: Tones
    shape: Pitches
    thirds: tuple[int, ...]
    texts: tuple[str, ...]
    sung: tuple[tuple[int, int], ...]

    def __len__(self) -> int:
        return len(self.cells)

    def clashes(self, index: int, pitch: int) -> bool:
        """Whether a pitch would double the third the left hand strikes just then, or a melody."""
        third = index in self.thirds and pitch % 12 == self.tones.third
        return third or (index, pitch) in self.sung


def position(shape: Pitches, token: str) -> int:
    """The pitch a position of the shape means; positions the shape hasn't go an octave up."""
    at = int(token) - 1
    if at < len(shape):
        return shape[at]
    octaves, rest = divmod(at, len(shape))
    return shape[rest] + 12 * octaves


def _fourth(tones: Tones, shape: Pitches) -> int | None:
    """The fourth in place of the shape's third, or None where there is no third."""
    if tones.third is None:
        return None
    for pitch in shape:
        if pitch % 12 == tones.third:
            fourth = pitch + ((tones.root + 5) - tones.third) % 12
            return fourth if fourth - pitch in (1, 2) else None
    return None


def _outside(tones: Tones, shape: Pitches, token: str) -> int:
    """The pitch of a token for a note outside the chord; a chord note where it can't stand."""
    if token == _FOURTH:
        pitch = _fourth(tones, shape)
    else:
        pitch = _scale_note(tones, shape, _SCALE_STEPS[token])
    alone = tones.foreign_bass or tones.bass == tones.leading
    doubles = pitch is not None and alone and pitch % 12 == tones.bass
    return position(shape, "2") if pitch is None or doubles else pitch


def _scale_note(tones: Tones, shape: Pitches, steps: int) -> int:
    """The scale's note so many steps above the root, in the shape's register."""
    pitch = shape[0] + (tones.root - shape[0]) % 12
    for _ in range(steps):
        pitch = tones.step_from(pitch, 1)
    return pitch if pitch - shape[0] <= 12 else pitch - 12


@lru_cache(maxsize=8192)
def strand(
    tones: Tones,
    shape: Pitches,
    slots: tuple[FigureSlot, ...],
    thirds: tuple[int, ...],
    reach: int,
    sung: tuple[tuple[int, int], ...] = (),
    *,
    exact: bool = False,
) -> Strand:
    """The figure's slots on a shape; at slots in `thirds` the left hand has the third.

    There the right hand takes another member. What a hand can't reach together
    loses its inner, then its upper notes. Where the figure goes on but the shape
    would give the same note again, another member takes its place, unless the
    figure is to be `exact`.
    """
    cells: list[Cell] = []
    wishes: list[tuple[int, str]] = []
    added: list[int] = []
    accents: list[int] = []
    for index, slot in enumerate(slots):
        if not slot.tokens:
            cells.append(() if slot.hold else None)
            continue
        if slot.accent:
            accents.append(index)
        pitches: list[int] = []
        for token in slot.tokens:
            if token in ("n", "p", "A"):
                wishes.append((index, token))
                pitches.append(_stand_in(cells, shape, token))
            elif token == _FOURTH or token in _SCALE_STEPS:
                pitches.append(_outside(tones, shape, token))
            else:
                pitches.append(position(shape, token))
        if index in thirds and tones.third is not None:
            pitches = _without_third(tones, shape, pitches, cells)
        if sung:
            third = tones.third if index in thirds else None
            pitches = _off_melody(shape, pitches, (index, sung), third, cells)
        if any(pitch % 12 not in tones.pcs for pitch in pitches):
            added.append(index)
        if pitches:
            cells.append(_reached(_led_once(tones, tuple(sorted(set(pitches)))), reach))
        else:
            cells.append(() if any(cells) else None)
    texts = tuple(
        slot.text if cell or not slot.tokens else "x" if cell is None else "."
        for slot, cell in zip(slots, cells, strict=True)
    )
    found = Strand(
        tuple(cells), tuple(wishes), tuple(added), tuple(accents), tones, shape, thirds, texts, sung
    )
    return found if exact else _moving(found, slots)


def _moving(found: Strand, slots: tuple[FigureSlot, ...]) -> Strand:
    """The strand without a note struck twice running where the figure has two."""
    cells = list(found.cells)
    struck = [index for index, cell in enumerate(cells) if cell]
    loose = {index for index, _ in found.wishes} | set(found.added)
    for place in range(1, len(struck)):
        last, index = struck[place - 1], struck[place]
        cell = cells[index]
        if cell != cells[last] or len(cell or ()) != 1 or index in loose:
            continue
        if slots[index].tokens == slots[last].tokens:
            continue
        then = cells[struck[place + 1]] if place + 1 < len(struck) else None
        others = [
            pitch
            for pitch in found.shape
            if (pitch,) not in (cell, then) and not found.clashes(index, pitch)
        ]
        if others:
            assert cell
            own = cell[0]
            cells[index] = (min((abs(pitch - own), pitch) for pitch in others)[1],)
    if tuple(cells) == found.cells:
        return found
    return replace(found, cells=tuple(cells))


def _stand_in(cells: list[Cell], shape: Pitches, token: str) -> int:
    """The chord note heard where a wish cannot be met."""
    if token == _EARLY:
        return shape[0]
    before = next((cell[-1] for cell in reversed(cells) if cell), None)
    return next((p for p in (position(shape, "2"), *shape) if p != before), shape[0])


def _instead(pitches: list[int], others: list[int], cells: list[Cell]) -> list[int]:
    """The nearest of other notes, rather not the one struck just before."""
    before = next((cell for cell in reversed(cells) if cell), ())
    return [min(others, key=lambda pitch: (pitch in before, abs(pitch - pitches[0]), pitch))]


def _without_third(
    tones: Tones, shape: Pitches, pitches: list[int], cells: list[Cell]
) -> list[int]:
    """Another member for the third."""
    kept = [pitch for pitch in pitches if pitch % 12 != tones.third]
    others = [pitch for pitch in shape if pitch % 12 != tones.third]
    return kept or (_instead(pitches, others, cells) if others else pitches[:1])


def _off_melody(
    shape: Pitches,
    pitches: list[int],
    where: tuple[int, tuple[tuple[int, int], ...]],
    third: int | None,
    cells: list[Cell],
) -> list[int]:
    """Other members for what would double the melody or rub against it; none where all would.

    `where` is the cell with what is sung; `third` must not be struck there.
    """
    index, sung = where
    kept = [pitch for pitch in pitches if (index, pitch) not in sung]
    others = [
        pitch
        for pitch in (*shape, shape[0] + 12)
        if (index, pitch) not in sung and (third is None or pitch % 12 != third)
    ]
    return kept or (_instead(pitches, others, cells) if others else [])


def _led_once(tones: Tones, pitches: Pitches) -> Pitches:
    """The notes without a second leading note: the lowest stays."""
    leading = [pitch for pitch in pitches if pitch % 12 == tones.leading]
    return tuple(pitch for pitch in pitches if pitch not in leading[1:])


def _reached(pitches: Pitches, reach: int) -> Pitches:
    """The notes a hand can strike together: from the lowest up as far as it reaches."""
    return tuple(pitch for pitch in pitches if pitch - pitches[0] <= reach)


@lru_cache(maxsize=8192)
def third_strikes(
    tones: Tones, left: tuple[FigureSlot, ...], count: int, reach: int
) -> tuple[int, ...]:
    """Which of `count` equal slots begin just when the left hand strikes the third.

    What is beyond `reach` is broken: the notes over its lowest come half a slot later.
    """
    if tones.third is None:
        return ()
    found = []
    for index, slot in enumerate(left):
        above = sorted(offset(tones, token) for token in slot.tokens if token not in ALONE)
        late = bool(above) and above[-1] - above[0] > reach
        for size in above:
            at = 2 * index + (late and size > above[0])
            if (tones.bass + size) % 12 == tones.third and at * count % (2 * len(left)) == 0:
                found.append(at * count // (2 * len(left)))
    return tuple(found)
