"""The search that puts neighbours, passing and added notes inside one harmony.

Its states are notes with what they still ask of the next one, so that law lives
in the steps: what the law forbids is no step at all.
"""

from __future__ import annotations

from typing import NamedTuple

from engine.arrange.costs import costs
from engine.arrange.draft import Draft, Taste, name_of, token_of
from engine.arrange.strand import Strand
from engine.part import Role

_CHORD, _FRESH, _OUTSIDE, _ADDED = range(4)


class _State(NamedTuple):
    """A note in the search: its pitch, kind, and for an outside note where it came from."""

    pitch: int
    kind: int
    came: int


_Layer = dict[_State, tuple[int, _State | None]]


def decorate(draft: Draft, strand: Strand, taste: Taste) -> None:
    """Put neighbours, passing and added notes where they pay, by one search over the cells."""
    struck = [index for index, cell in enumerate(draft.cells) if cell]
    if len(struck) < 3:
        return
    layers: list[_Layer] = []
    before: _Layer = {}
    for place, index in enumerate(struck):
        cell = draft.cells[index]
        assert cell
        last = place == len(struck) - 1
        held = index in draft.fixed or len(cell) > 1
        if place == 0 or len(cell) > 1 or (draft.roles[index][0].outside):
            start = min((cost for cost, _ in before.values()), default=0)
            origin = _cheapest_chord(before)
            if origin is not None:
                start = before[origin][0]
            layer: _Layer = {_State(cell[-1] if len(cell) == 1 else -1, _CHORD, 0): (start, origin)}
        else:
            layer = _reached(before, index, cell[0], strand, taste, held=held or last)
        layers.append(layer)
        before = layer
    _settle(draft, strand, struck, layers)


def _cheapest_chord(layer: _Layer) -> _State | None:
    """The cheapest chord note of a layer (an outside note may not stand before what is fixed)."""
    best: _State | None = None
    for state, (cost, _) in layer.items():
        if state.kind in (_CHORD, _FRESH) and (best is None or cost < layer[best][0]):
            best = state
    return best


def _reached(
    before: _Layer, index: int, own: int, strand: Strand, taste: Taste, *, held: bool
) -> _Layer:
    """Every state of one cell that the states before it may lead to, with its least cost."""
    table = costs()["inside"]
    tones = strand.tones
    layer: _Layer = {}

    def offer(state: _State, cost: int, origin: _State) -> None:
        if state not in layer or cost < layer[state][0]:
            layer[state] = (cost, origin)

    chords = {own: 0}
    if not held:
        for pitch in strand.shape:
            if pitch != own and not strand.clashes(index, pitch):
                chords[pitch] = table["changed"]
    strong = table["strong"] if taste.strengths[index] >= 2 else 0
    for state, (cost, _) in before.items():
        for pitch, extra in chords.items():
            arrived = _arrival(state, pitch)
            if arrived is None:
                continue
            again = table["repeated"] if pitch == state.pitch and pitch != own else 0
            kind = _FRESH if state.kind in (_OUTSIDE, _ADDED) else _CHORD
            offer(_State(pitch, kind, 0), cost + extra + arrived + again, state)
        if held or state.kind in (_OUTSIDE, _ADDED) or state.pitch < 0:
            continue
        price = cost + taste.decoration + strong
        price += table["again"] if state.kind == _FRESH else 0
        for way in (1, -1):
            pitch = tones.step_from(state.pitch, way)
            if (
                abs(pitch - state.pitch) <= 2
                and pitch % 12 not in tones.pcs
                and taste.left_top < pitch <= taste.ceiling
                and not strand.clashes(index, pitch)
            ):
                lower = table["lower"] if way < 0 else 0
                offer(_State(pitch, _OUTSIDE, state.pitch), price + lower, state)
        for pc in tones.added:
            pitch = own + (pc - own + 6) % 12 - 6
            if (
                pitch != state.pitch
                and max(taste.left_top + 1, strand.shape[0] - 3) <= pitch <= taste.ceiling
                and not strand.clashes(index, pitch)
            ):
                offer(_State(pitch, _ADDED, state.pitch), price + table["added"], state)
    return layer


def _arrival(state: _State, pitch: int) -> int | None:
    """What it costs to go from a state to a chord note; None where the law forbids it."""
    if state.kind in (_CHORD, _FRESH):
        return 0
    step = pitch - state.pitch
    if not 1 <= abs(step) <= 2:
        return None
    if state.kind == _ADDED:
        return 0
    table = costs()["inside"]
    if pitch == state.came:
        return int(table["neighbour"])
    return int(table["passing"]) if step * (state.pitch - state.came) > 0 else None


def _settle(draft: Draft, strand: Strand, struck: list[int], layers: list[_Layer]) -> None:
    """Write the cheapest row of states into the draft."""
    state = _cheapest_chord(layers[-1])
    following: _State | None = None
    tones = strand.tones
    for place in range(len(struck) - 1, -1, -1):
        if state is None:
            return
        index = struck[place]
        origin = layers[place][state][1]
        cell = draft.cells[index]
        if state.kind == _OUTSIDE and following is not None:
            _put_outside(draft, strand, index, state, following)
        elif state.kind == _ADDED and following is not None:
            ninth = (state.pitch - tones.root) % 12 == 2
            why = (
                f"added {'ninth' if ninth else 'sixth'}, goes to {name_of(tones, following.pitch)}"
            )
            draft.put(index, state.pitch, Role.ADDED, why, "9" if ninth else "6")
        elif state.pitch >= 0 and cell != (state.pitch,):
            draft.put(index, state.pitch, Role.CHORD, "", token_of(strand, state.pitch))
        following, state = state, origin


def _put_outside(
    draft: Draft, strand: Strand, index: int, state: _State, following: _State
) -> None:
    name = name_of(strand.tones, state.came)
    if following.pitch == state.came:
        draft.put(index, state.pitch, Role.NEIGHBOUR, f"steps out of {name} and back", "n")
    else:
        why = f"passes from {name} to {name_of(strand.tones, following.pitch)}"
        draft.put(index, state.pitch, Role.PASSING, why, "p")
