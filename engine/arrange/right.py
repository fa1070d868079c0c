"""The right hand over the whole song: strands, the joints between them, and what is inside."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache

from engine.arrange.costs import Take, costs, felt
from engine.arrange.draft import Taste
from engine.arrange.inside import strokes
from engine.arrange.joints import (
    ANTICIPATION,
    APART,
    PLAIN,
    TIED,
    WISHED,
    Joint,
    JointSet,
    Place,
    choose_joints,
    joints,
    walled,
)
from engine.arrange.laid import Laid, follows
from engine.arrange.line import Row, silence
from engine.arrange.strand import Strand, strand, third_strikes
from engine.hands.shapes import Pitches
from engine.meter import Meter

_PLAIN = Joint(PLAIN, 0)


def right_rows(
    laid: Sequence[Laid],
    basses: Sequence[int],
    shapes: Sequence[Pitches],
    reach: int,
    take: Take,
) -> list[Row]:
    """The right hand's strokes over every harmony."""
    strands = [
        _wall(item, shape) if item.kept else _strand(item, shape, reach)
        for item, shape in zip(laid, shapes, strict=True)
    ]
    tops = [item.left_top(low) for item, low in zip(laid, basses, strict=True)]
    sets = [
        _between(laid[at], laid[at + 1], strands[at], strands[at + 1], tops[at])
        for at in range(len(laid) - 1)
    ]
    chosen = _spared(laid, choose_joints(sets, [item.bar.section for item in laid], take))
    joints = [_PLAIN, *(joint._replace(cost=0) for joint in chosen), _PLAIN]

    def row(index: int) -> Row:
        entry, leaving = joints[index], joints[index + 1]
        if laid[index].kept:
            return silence(laid[index])
        taste = _taste(laid[index], entry, leaving, tops[index], reach, take)
        return strokes(strands[index], entry, leaving, taste)

    rows = []
    for index, item in enumerate(laid):
        rows.append(row(index))
        if item.exact or not item.needs:
            continue
        # Joints on both sides may leave no room for what is needed: it matters more than they do.
        if not _has(rows[index], item.needs) and joints[index + 1].kind != PLAIN:
            joints[index + 1] = _PLAIN
            rows[index] = row(index)
        if not _has(rows[index], item.needs) and joints[index].kind != PLAIN:
            joints[index] = _PLAIN
            rows[index - 1 : index + 1] = [row(index - 1), row(index)]
    return rows


def _spared(laid: Sequence[Laid], chosen: list[Joint]) -> list[Joint]:
    """The joints with the dearest anticipations left out where nearly every change has one.

    What a figure asks for by its tokens stays.
    """
    places: dict[int, list[int]] = {}
    changes: dict[int, int] = {}
    for at, item in enumerate(laid):
        if item.spot.renewed:
            changes[item.bar.section] = changes.get(item.bar.section, 0) + 1
        if at < len(chosen) and chosen[at].kind == ANTICIPATION and chosen[at].tail:
            places.setdefault(item.bar.section, []).append(at)
    found = list(chosen)
    for section, pushed in places.items():
        many = len(pushed) - changes[section] + 2
        if many > 0:
            dear = sorted(pushed, key=lambda at: (-chosen[at].cost, at))
            for at in dear[: many + 1]:
                if chosen[at].cost > -WISHED // 2:
                    found[at] = _PLAIN
    return found


def _has(row: Row, needs: tuple[int, ...]) -> bool:
    """Whether all that is needed is struck."""
    return set(needs) <= {pitch % 12 for stroke in row.strokes for pitch in stroke.cell or ()}


def _strand(item: Laid, shape: Pitches, reach: int) -> Strand:
    thirds = third_strikes(item.tones, item.left, len(item.right), reach)
    return strand(item.tones, shape, item.right, thirds, reach, item.sung, exact=item.exact)


def _wall(item: Laid, shape: Pitches) -> Strand:
    """A kept harmony for the search: only what it begins with is there to be led to."""
    assert item.kept is not None
    first = item.kept.first() if item.spot.onset == 0 else ()
    cells = (first or None, *(None for _ in item.right[1:]))
    return Strand(cells, (), (), (), item.tones, shape, (), tuple("x" for _ in cells), ())


def _between(before: Laid, after: Laid, here: Strand, there: Strand, top: int) -> JointSet:
    """The joints from one harmony into the next, walls of kept bars observed."""
    if not follows(before, after):
        return APART
    if before.kept is not None:
        tied = before.bar is not after.bar and before.kept.over(before.bar.meter.bar)
        return TIED if tied and after.kept is None else APART
    if after.kept is not None and after.kept.open:
        if before.early() and len(here) > 2:
            held = after.kept.held
            return JointSet((Joint(ANTICIPATION, 0, (held,), head=((),), free=len(here) - 1),))
        return APART
    if after.exact and before.exact and _untouched(before):
        return APART
    found = joints(here, there, _place(before, after, top))
    if after.kept is not None:
        return walled(found)
    return found


def _untouched(item: Laid) -> bool:
    """Whether nothing may be added: every amount that adds notes is 0."""
    return not (item.bar.settings.outside or item.bar.settings.anticipation)


def _place(before: Laid, after: Laid, top: int) -> Place:
    return Place(
        phrase=after.phrase[0],
        half=after.spot.onset > 0,
        ends=before.phrase[0] == before.phrase[1] - 1 and before.bar is not after.bar,
        height=round(10 * after.height),
        outside=round(100 * felt(before.bar.settings.outside)),
        anticipation=round(100 * felt(before.bar.settings.anticipation)),
        early=before.early(),
        left_top=top,
        ceiling=min(before.ceiling, after.ceiling),
        other=after.bar.in_section % 8 > 4 or after.bar.in_section % 8 == 0,
    )


def _taste(item: Laid, entry: Joint, leaving: Joint, top: int, reach: int, take: Take) -> Taste:
    inside, doubling = costs()["inside"], costs()["doubling"]
    outside = felt(item.bar.settings.outside)
    decoration = 0
    if outside > 0 and not item.exact:
        decoration = inside["price"][item.phrase[0] % 4] + take.shift(
            "inside", item.bar.section, item.bar.number
        )
        decoration -= round(inside["reward"] * outside + inside["height"] * item.height)
        if entry.kind != PLAIN or leaving.kind != PLAIN:
            decoration += inside["with_joint"]
    doubled = 0
    wanted = felt(item.bar.settings.doubling)
    if wanted > 0 and not item.exact:
        doubled = take.shift("doubling", item.bar.section, item.bar.number) - round(
            doubling["reward"] * wanted + doubling["height"] * item.height
        )
    return Taste(
        min(0, decoration),
        doubled,
        _strengths(item.bar.meter, item.spot.onset, item.spot.duration, len(item.right)),
        top,
        reach,
        () if item.exact else item.needs,
        item.ceiling,
    )


@lru_cache(maxsize=4096)
def _strengths(meter: Meter, onset: Fraction, duration: Fraction, count: int) -> tuple[int, ...]:
    return tuple(meter.strength(onset + duration * at / count) for at in range(count))
