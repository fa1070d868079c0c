"""One figure, other ways: start shifted, reversed, thinned, thickened.

Each returns a figure of the same length whose rhythm a listener still knows.
"""

from __future__ import annotations

from dataclasses import replace

from engine.figures.value import HOLD, Figure, FigureSlot

_POSITIONS = ("1", "2", "3", "4")


def shifted(figure: Figure, by: int) -> Figure:
    """Begin with the note `by` attacks later; rests and holds stay where they are."""
    notes = [slot for slot in figure.slots if slot.tokens]
    if not notes:
        return figure
    turned = notes[by % len(notes) :] + notes[: by % len(notes)]
    return _with_notes(figure, turned)


def mirrored(figure: Figure) -> Figure:
    """Lowest for highest: `1 2 3 2` becomes `3 2 1 2`. Other tokens stay."""
    top = "4" if any("4" in slot.tokens for slot in figure.slots) else "3"
    order = _POSITIONS[: int(top)]
    swap = dict(zip(order, reversed(order), strict=True))
    slots = tuple(
        replace(slot, tokens=tuple(sorted(swap.get(token, token) for token in slot.tokens)))
        for slot in figure.slots
    )
    return replace(figure, slots=slots)


def reversed_tail(figure: Figure) -> Figure:
    """The second half's notes backwards: the figure turns round at the middle of the bar."""
    notes = [slot for slot in figure.slots if slot.tokens]
    half = sum(1 for slot in figure.slots[: len(figure.slots) // 2] if slot.tokens)
    return _with_notes(figure, notes[:half] + notes[half:][::-1])


def thinned(figure: Figure, keep: tuple[bool, ...]) -> Figure:
    """Hold on through the slots not kept (one flag a slot); struck pairs keep their top note."""
    slots: list[FigureSlot] = []
    for slot, kept in zip(figure.slots, keep, strict=True):
        if slot.tokens and not kept:
            slots.append(HOLD if slots and (slots[-1].tokens or slots[-1].hold) else FigureSlot())
        else:
            slots.append(slot)
    return replace(figure, slots=tuple(slots))


def thickened(figure: Figure, where: tuple[bool, ...]) -> Figure:
    """Join a second note of the shape to single notes at the flagged slots."""
    slots = []
    for slot, thick in zip(figure.slots, where, strict=True):
        if thick and len(slot.tokens) == 1 and slot.tokens[0] in _POSITIONS:
            own = int(slot.tokens[0])
            other = own - 1 if own > 1 else own + 1
            pair = tuple(sorted((str(own), str(other))))
            slots.append(replace(slot, tokens=pair))
        else:
            slots.append(slot)
    return replace(figure, slots=tuple(slots))


def _with_notes(figure: Figure, notes: list[FigureSlot]) -> Figure:
    rest = iter(notes)
    slots = []
    for slot in figure.slots:
        if slot.tokens:
            tokens = next(rest)
            slots.append(replace(tokens, accent=slot.accent))
        else:
            slots.append(slot)
    return replace(figure, slots=tuple(slots))
