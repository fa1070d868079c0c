"""Joints: what leads from one harmony into the next.

An anticipation strikes the next harmony's first notes a slot early and ties
them over; a passing note, or a fill of several, walks by step to the next
first note; a neighbour goes out and back to a common tone; a suspension keeps
a note of this harmony over the next and falls by step. Which of them stands
where is one search over the whole song, so that they are spaced, never at
every change, and lean on the places the plan prefers. What the law forbids is
no candidate at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

from engine.arrange.costs import Take, costs
from engine.arrange.strand import Strand
from engine.hands import NEVER, cheapest

PLAIN, ANTICIPATION, PASSING, SUSPENSION = 0, 1, 2, 3
#: What a figure that asks for a joint by its tokens takes off its cost.
WISHED = 5000


class Joint(NamedTuple):
    """One way from a harmony into the next, with its cost in itself.

    `tail` are the pitches of the last cells of the harmony that is left;
    `from_here` what the cell before them plays, where that has to change;
    `head` the pitches of the first cells of the next (an empty one is held);
    `returns` says that the tail is a neighbour and goes back; `free` is how many
    cells of the harmony that is left it doesn't depend on.
    """

    kind: int
    cost: int
    tail: tuple[tuple[int, ...], ...] = ()
    from_here: tuple[int, ...] = ()
    head: tuple[tuple[int, ...], ...] = ()
    returns: bool = False
    free: int = 96


_NONE = Joint(PLAIN, 0)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a joint stands: what the plan and the writer want there.

    `phrase` is the place in its phrase of the bar entered; `half` says that it
    is entered inside the bar, `ends` that a phrase ends here; `height` of the
    bar entered in tenths, the two amounts in hundredths. `early` says that a
    slot is short enough for an anticipation (an eighth or less); the right hand
    stays above `left_top` and up to `ceiling`; `other` marks every second phrase.
    """

    phrase: int
    half: bool
    ends: bool
    height: int
    outside: int
    anticipation: int
    early: bool
    left_top: int
    ceiling: int
    other: bool


@dataclass(frozen=True, slots=True, eq=False)
class JointSet:
    """The joints of one place, the plain one first."""

    joints: tuple[Joint, ...]


#: No joint but the plain one: time lies between, or nothing may be changed.
APART = JointSet((_NONE,))
#: A kept bar's last note is held over.
TIED = JointSet((Joint(ANTICIPATION, 0, head=((),)),))


@lru_cache(maxsize=4096)
def walled(options: JointSet) -> JointSet:
    """The joints that change nothing of the harmony entered."""
    return JointSet(tuple(joint for joint in options.joints if not joint.head))


def choose_joints(stages: Sequence[JointSet], sections: Sequence[int], take: Take) -> list[Joint]:
    """The joint at each place, spaced and never at every change.

    `sections` are those of the harmonies that are left.
    """
    local: list[tuple[int, ...]] = []
    for index, options in enumerate(stages):
        own = tuple(joint.cost for joint in options.joints)
        if not take.calm:
            own = tuple(
                cost + (take.shift("joint", sections[index], index, number) if number else 0)
                for number, cost in enumerate(own)
            )
        local.append(own)
    path = cheapest(stages, local, _moves)
    return [stage.joints[at] for stage, at in zip(stages, path, strict=True)]


@lru_cache(maxsize=16384)
def _moves(earlier: JointSet, later: JointSet) -> tuple[tuple[int, ...], ...]:
    table = costs()["joint"]
    rows = []
    for after in later.joints:
        row = []
        for before in earlier.joints:
            both = before.kind != PLAIN and after.kind != PLAIN
            cost = table["after_any"] if both else 0
            goal_moved = before.kind == PASSING and after.from_here and after.free == 0
            if len(before.head) > after.free or goal_moved:
                cost = NEVER
            elif both and before.kind == after.kind:
                cost += table["after_same"]
            row.append(cost)
        rows.append(tuple(row))
    return tuple(rows)


@lru_cache(maxsize=16384)
def joints(here: Strand, there: Strand, place: Place) -> JointSet:
    """Every lawful joint between two strands, priced for its place."""
    found = [_NONE]
    wish = dict(here.wishes).get(len(here) - 1, "")
    if len(here) >= 2 and here.tones is not there.tones:
        if place.anticipation or wish == "A":
            found += _anticipations(here, there, place, wish)
        if place.outside or wish == "p":
            found += _passings(here, there, place, wish)
        if place.outside:
            found += _suspensions(here, there, place)
    elif wish == "p" and len(here) >= 2:
        found += _passings(here, there, place, wish)
    return JointSet(tuple(found))


def _price(table: dict[str, Any], place: Place, amount: int) -> int:
    price: int = table["half"] if place.half else table["price"][place.phrase % 4]
    if not amount:
        return NEVER
    off: int = table["reward"] * amount // 100 + table["height"] * place.height // 10
    return price - off


def _anticipations(here: Strand, there: Strand, place: Place, wish: str) -> list[Joint]:
    first = there.cells[0]
    if (
        not first
        or not place.early
        or first[0] <= place.left_top
        or first[-1] > place.ceiling
        or len(here) < 3
    ):
        return []
    table = costs()["joint"]["anticipation"]
    cost = _price(table, place, place.anticipation) + (table["other"] if place.other else 0)
    if wish == "A":
        cost = -WISHED
    elif len(here) < 4:
        return []
    if any(_refused(here, len(here) - 1, pitch) for pitch in first):
        return []
    if any(pitch % 12 not in there.tones.pcs for pitch in first):
        return []
    if sum(pitch % 12 == here.tones.leading for pitch in first) > 1:
        return []
    if all(pitch % 12 in here.tones.pcs for pitch in first):
        cost += table["known"]
    if here.cells[-2] == first:
        cost += table["repeat"]
    before = _last_struck(here, len(here) - 1)
    if before is not None:
        cost += table["leap"] * max(0, min(abs(pitch - before) for pitch in first) - 9)
    return (
        [Joint(ANTICIPATION, cost, (first,), head=((),), free=len(here) - 1)]
        if cost < NEVER // 2
        else []
    )


def _refused(here: Strand, index: int, pitch: int) -> bool:
    """Whether a pitch would double the left hand's third, or a bass that must not be doubled."""
    tones = here.tones
    alone = tones.foreign_bass or tones.bass == tones.leading
    return here.clashes(index, pitch) or (alone and pitch % 12 == tones.bass)


def _single(cell: tuple[int, ...] | None) -> int | None:
    return cell[0] if cell is not None and len(cell) == 1 else None


def _last_struck(here: Strand, stop: int) -> int | None:
    """The single pitch struck last before a cell, or None."""
    for cell in reversed(here.cells[:stop]):
        if cell != ():
            return _single(cell)
    return None


def _passings(here: Strand, there: Strand, place: Place, wish: str) -> list[Joint]:
    goal = _single(there.cells[0])
    if goal is None:
        return []
    table = costs()["joint"]["passing"]
    price = -WISHED if wish == "p" else _price(table, place, place.outside)
    if price > NEVER // 2:
        return []
    found = []
    longest = min(3 if place.ends else 1, len(here) - 1)
    for count in range(1, longest + 1):
        stop = len(here) - count
        own = _last_struck(here, stop)
        if own is None or here.cells[stop - 1] is None:
            continue
        at = max(index for index in range(stop) if here.cells[index])
        starts = [own]
        if here.cells[stop - 1]:
            starts += [pitch for pitch in here.shape if pitch != own]
        for start in starts:
            walk = _walk(here, start, goal, count)
            if here.clashes(stop - 1, start) or any(
                _refused(here, stop + step, pitch) for step, pitch in enumerate(walk)
            ):
                continue
            if walk and min(walk) > place.left_top and max(walk) <= place.ceiling:
                cost = price + table["fill"][count - 1] + (0 if start == own else table["altered"])
                cost += table["neighbour"] if start == goal else 0
                before = () if start == own else (start,)
                tail = tuple((pitch,) for pitch in walk)
                found.append(Joint(PASSING, cost, tail, before, (), start == goal, at))
    return sorted(found, key=lambda joint: joint.cost)[:2]


def _walk(here: Strand, start: int, goal: int, count: int) -> tuple[int, ...]:
    """`count` notes by step from one pitch to another, the last two at least outside the harmony.

    Empty where the distance doesn't fit, or nothing of it would be an outside note.
    """
    tones = here.tones
    if start == goal:
        if count > 1:
            return ()
        over = tones.step_from(start, 1)
        return (over,) if over % 12 not in tones.pcs and over - start <= 2 else ()
    way = 1 if goal > start else -1
    walk, at = [], start
    for _ in range(count):
        at = tones.step_from(at, way)
        walk.append(at)
    if abs(goal - at) not in (1, 2) or (goal - at) * way <= 0:
        return ()
    if any(abs(b - a) > 2 for a, b in zip([start, *walk], walk, strict=False)):
        return ()
    return tuple(walk) if walk[-1] % 12 not in tones.pcs else ()


def _suspensions(here: Strand, there: Strand, place: Place) -> list[Joint]:
    if len(there) < 3 or not there.cells[0] or not there.cells[1] or not here.cells[-1]:
        return []
    if len(there.cells[0]) > 1 or len(here.cells[-1]) > 1:
        return []
    table = costs()["joint"]["suspension"]
    price = _price(table, place, place.outside)
    if price > NEVER // 2:
        return []
    found = []
    to = there.tones
    for held in here.shape:
        if held % 12 in to.pcs or (held - to.bass) % 12 == 1 or held % 12 not in to.scale:
            continue
        for fall in (1, 2):
            goal = held - fall
            if goal not in there.shape or goal % 12 not in to.pcs:
                continue
            clash = there.clashes(0, held) or there.clashes(1, goal)
            if clash or here.clashes(len(here) - 1, held):
                continue
            cost = price + table["leap"] * abs(held - there.cells[0][0])
            cost += 0 if here.cells[-1] == (held,) else table["altered"]
            cost += table["third"] if goal % 12 == to.third else 0
            cost += table["root"] if goal % 12 == to.root else 0
            tail, head = ((held,),), ((held,), (goal,))
            found.append(Joint(SUSPENSION, cost, tail, (), head, free=len(here) - 1))
    return sorted(found, key=lambda joint: joint.cost)[:1]
