"""Inside one harmony: the strand with its joints, neighbours, passing and added notes, doublings.

Law lives in the steps from one note to the next: an outside note is entered by
step from a chord note and left by step, back (a neighbour) or on the same way
(a passing note); an added sixth or ninth goes on by step to a chord note. Taste
lives in the costs. The first note of a harmony and what a joint needs stay.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from engine.arrange.costs import costs
from engine.arrange.joints import ANTICIPATION, PASSING, SUSPENSION, Joint
from engine.arrange.line import Row, Stroke
from engine.arrange.strand import Cell, Strand
from engine.hands import Tones
from engine.part import Role

_ACCENT = 7
_CHORD, _FRESH, _OUTSIDE, _ADDED = range(4)


@dataclass(frozen=True, slots=True)
class Taste:
    """What is wanted at a harmony, as costs: negative ones pay.

    `decoration` is what an outside note costs before its kind and place,
    `doubling` what a doubled note costs before its place; `strengths` is the
    metric weight of each cell. `third` says that the left hand has no third and
    the harmony is long enough to need one.
    """

    decoration: int
    doubling: int
    strengths: tuple[int, ...]
    left_top: int
    reach: int
    third: bool
    ceiling: int


@dataclass(slots=True)
class _Draft:
    """The strand while it is worked on: per cell its pitches, roles, whys and token."""

    cells: list[Cell]
    roles: list[tuple[Role, ...]]
    whys: list[str]
    texts: list[str]
    fixed: set[int]
    locked: set[int]

    def put(self, index: int, pitch: int, role: Role, why: str, text: str) -> None:
        self.cells[index] = (pitch,)
        self.roles[index] = (role,)
        self.whys[index] = why
        self.texts[index] = text
        self.lock(index)

    def lock(self, *indices: int) -> None:
        """Keep cells as they are: something beside them depends on it."""
        self.fixed.update(indices)
        self.locked.update(indices)


@lru_cache(maxsize=16384)
def strokes(strand: Strand, entry: Joint, leaving: Joint, taste: Taste) -> Row:
    """The right hand's strokes over one harmony."""
    draft = _plain(strand)
    _enter(draft, strand, entry)
    _leave(draft, strand, leaving)
    _wishes(draft, strand)
    if taste.third:
        _keep_third(draft, strand, taste.ceiling)
    if taste.decoration < 0:
        _decorate(draft, strand, taste)
    doubled = _doublings(draft, strand, taste) if taste.doubling < 0 else {}
    out = []
    for index, cell in enumerate(draft.cells):
        if not cell:
            out.append(Stroke(cell, text=draft.texts[index]))
            continue
        roles, whys = draft.roles[index], tuple(draft.whys[index] for _ in cell)
        loud = _ACCENT if index in strand.accents else 0
        if index in doubled:
            extra = doubled[index]
            rows = sorted([*zip(cell, roles, whys, strict=True), (extra, Role.DOUBLING, "")])
            cell = tuple(row[0] for row in rows)
            roles = tuple(row[1] for row in rows)
            whys = tuple(row[2] for row in rows)
        rings = draft.texts[index].rstrip(">").endswith("_")
        out.append(Stroke(cell, roles, draft.texts[index], whys, loud, rings))
    return Row(tuple(out))


def _plain(strand: Strand) -> _Draft:
    tones = strand.tones
    roles = [
        tuple(Role.CHORD if pitch % 12 in tones.pcs else Role.ADDED for pitch in cell or ())
        for cell in strand.cells
    ]
    whys = ["" for _ in strand.cells]
    for index in strand.added:
        whys[index] = "added to the chord"
    fixed = {0, *strand.added, *(index for index in strand.thirds if index < len(roles))}
    return _Draft(list(strand.cells), roles, whys, list(strand.texts), fixed, set())


def _name(tones: Tones, pitch: int) -> str:
    return tones.pitch(pitch).note.symbol


def _enter(draft: _Draft, strand: Strand, entry: Joint) -> None:
    if entry.kind == PASSING:
        draft.lock(0)
    elif entry.kind == ANTICIPATION:
        draft.cells[0], draft.roles[0], draft.texts[0] = (), (), "."
    elif entry.kind == SUSPENSION:
        (held,), (goal,) = entry.head
        name = _name(strand.tones, goal)
        draft.put(0, held, Role.SUSPENSION, f"held from the chord before, falls to {name}", "s")
        draft.put(1, goal, Role.CHORD, "", _position(strand, goal))


def _position(strand: Strand, pitch: int) -> str:
    """The token of a pitch of the shape."""
    for index, own in enumerate(strand.shape[:4]):
        if own == pitch:
            return str(index + 1)
    return "4"


def _leave(draft: _Draft, strand: Strand, leaving: Joint) -> None:
    count, tones = len(draft.cells), strand.tones
    first = count - len(leaving.tail)
    if leaving.from_here:
        pitch = leaving.from_here[0]
        draft.put(first - 1, pitch, Role.CHORD, "", _position(strand, pitch))
    for index, cell in enumerate(leaving.tail, first):
        known = tuple(
            Role.CHORD if pitch % 12 in tones.pcs else Role.ANTICIPATION for pitch in cell
        )
        if leaving.kind == ANTICIPATION:
            draft.cells[index], draft.roles[index], draft.texts[index] = cell, known, "A"
            draft.whys[index] = "comes early from the next chord"
            draft.lock(index)
        elif leaving.kind == SUSPENSION or known[0] is Role.CHORD:
            draft.put(index, cell[0], Role.CHORD, "", _position(strand, cell[0]))
        else:
            _put_passing(draft, index, cell[0], strand, leaving)
    if leaving.kind == PASSING:
        struck = [at for at in range(first) if draft.cells[at]]
        draft.lock(*struck[-1:])


def _put_passing(draft: _Draft, index: int, pitch: int, strand: Strand, leaving: Joint) -> None:
    struck = next(cell for cell in reversed(draft.cells[:index]) if cell)
    before = struck[0]
    name = _name(strand.tones, before)
    if leaving.returns:
        draft.put(index, pitch, Role.NEIGHBOUR, f"steps out of {name} and back", "n")
    else:
        why = f"walks from {name} by step into the next chord"
        draft.put(index, pitch, Role.PASSING, why, "p")


def _wishes(draft: _Draft, strand: Strand) -> None:
    """Neighbours and passing notes the figure itself asks for, where they are lawful."""
    tones = strand.tones
    for index, token in strand.wishes:
        if index in draft.fixed or not 0 < index < len(draft.cells) - 1:
            continue
        before, after = _single_before(draft, index), _single(draft.cells[index + 1])
        if before is None or after is None or strand.clashes(index, before):
            continue
        around = {max(at for at in range(index) if draft.cells[at]), index + 1}
        if token == "n" and before == after:  # noqa: S105
            over = tones.step_from(before, 1)
            if over % 12 not in tones.pcs and over - before <= 2:
                why = f"steps out of {_name(tones, before)} and back"
                draft.put(index, over, Role.NEIGHBOUR, why, "n")
                draft.lock(*around)
        elif token == "p" and 3 <= abs(after - before) <= 4:  # noqa: S105
            between = tones.step_from(before, 1 if after > before else -1)
            if between % 12 not in tones.pcs and abs(after - between) in (1, 2):
                why = f"passes from {_name(tones, before)} to {_name(tones, after)}"
                draft.put(index, between, Role.PASSING, why, "p")
                draft.lock(*around)


def _single(cell: Cell) -> int | None:
    return cell[0] if cell is not None and len(cell) == 1 else None


def _single_before(draft: _Draft, index: int) -> int | None:
    for cell in reversed(draft.cells[:index]):
        if cell != ():
            return _single(cell)
    return None


class _State(NamedTuple):
    """A note in the search: its pitch, kind, and for an outside note where it came from."""

    pitch: int
    kind: int
    came: int


_Layer = dict[_State, tuple[int, _State | None]]


def _decorate(draft: _Draft, strand: Strand, taste: Taste) -> None:
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
                and strand.shape[0] - 3 <= pitch <= taste.ceiling
                and (pitch > taste.left_top)
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


def _settle(draft: _Draft, strand: Strand, struck: list[int], layers: list[_Layer]) -> None:
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
            why = f"added {'ninth' if ninth else 'sixth'}, goes to {_name(tones, following.pitch)}"
            draft.put(index, state.pitch, Role.ADDED, why, "9" if ninth else "6")
        elif state.pitch >= 0 and cell != (state.pitch,):
            draft.put(index, state.pitch, Role.CHORD, "", _position(strand, state.pitch))
        following, state = state, origin


def _put_outside(
    draft: _Draft, strand: Strand, index: int, state: _State, following: _State
) -> None:
    name = _name(strand.tones, state.came)
    if following.pitch == state.came:
        draft.put(index, state.pitch, Role.NEIGHBOUR, f"steps out of {name} and back", "n")
    else:
        why = f"passes from {name} to {_name(strand.tones, following.pitch)}"
        draft.put(index, state.pitch, Role.PASSING, why, "p")


def _keep_third(draft: _Draft, strand: Strand, ceiling: int) -> None:
    """Keep a note that sounds the third; where there is none, the nearest free one takes it."""
    third = strand.tones.third
    having = [
        index
        for index, cell in enumerate(draft.cells)
        if any(pitch % 12 == third for pitch in cell or ())
    ]
    if having:
        draft.fixed.add(next((index for index in having if index in draft.fixed), having[0]))
        return
    own = [pitch for pitch in strand.shape if pitch % 12 == third]
    wanted = [*own, *(pitch + 12 for pitch in own if pitch + 12 <= ceiling)]
    free = [
        (abs(cell[-1] - goal), index == 0, index, goal)
        for goal in wanted
        for index, cell in enumerate(draft.cells)
        if cell
        and not draft.roles[index][0].outside
        and index not in draft.locked
        and (index not in draft.fixed or index == 0)
        and not strand.clashes(index, goal)
    ]
    if not free:
        return
    _, _, at, goal = min(free)
    others = tuple(pitch for pitch in (draft.cells[at] or ())[:-1] if goal - pitch <= 12)
    draft.put(at, goal, Role.CHORD, "", _position(strand, goal))
    if others:
        pitches = tuple(sorted({*others, goal}))
        draft.cells[at], draft.roles[at] = pitches, tuple(Role.CHORD for _ in pitches)
        draft.texts[at] = "".join(_position(strand, pitch) for pitch in pitches)


def _doublings(draft: _Draft, strand: Strand, taste: Taste) -> dict[int, int]:
    """The octave that joins each accent where it pays: under the top note, or over the lowest."""
    table = costs()["doubling"]
    found: dict[int, int] = {}
    for index, cell in enumerate(draft.cells):
        pitch = _single(cell)
        if pitch is None or draft.roles[index][0] is not Role.CHORD or index in strand.thirds:
            continue
        cost = taste.doubling + table["price"][taste.strengths[index]]
        cost += table["accent"] if index in strand.accents else 0
        if cost >= 0 or pitch % 12 == strand.tones.leading or _beside_outside(draft, index):
            continue
        highest = min(taste.ceiling, max(strand.shape[-1], 79))
        for other in (pitch - 12, pitch + 12) if pitch >= strand.shape[-1] else (pitch + 12,):
            if max(taste.left_top + 1, 53) <= other <= highest and taste.reach >= 12:
                found[index] = other
                break
    return found


def _beside_outside(draft: _Draft, index: int) -> bool:
    near = draft.roles[max(0, index - 1) : index + 2]
    return any(role.outside for roles in near for role in roles)
