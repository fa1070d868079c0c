"""Inside one harmony: the strand with its joints, neighbours, passing and added notes, doublings.

Law lives in the steps from one note to the next: an outside note is entered by
step from a chord note and left by step, back (a neighbour) or on the same way
(a passing note); an added sixth or ninth goes on by step to a chord note. Taste
lives in the costs. The first note of a harmony and what a joint needs stay.
"""

from __future__ import annotations

from functools import lru_cache

from engine.arrange.costs import costs
from engine.arrange.decorate import decorate
from engine.arrange.draft import Draft, Taste, name_of, single, single_before, token_of
from engine.arrange.joints import ANTICIPATION, PASSING, SUSPENSION, Joint
from engine.arrange.line import Row, Stroke, row_of
from engine.arrange.strand import Strand
from engine.figures import MARKS
from engine.part import Role

_ACCENT = 7


@lru_cache(maxsize=16384)
def strokes(strand: Strand, entry: Joint, leaving: Joint, taste: Taste) -> Row:
    """The right hand's strokes over one harmony."""
    draft = _plain(strand)
    _enter(draft, strand, entry)
    _leave(draft, strand, leaving)
    _wishes(draft, strand)
    for pc in taste.needs:
        _keep(pc, draft, strand, taste)
    if taste.decoration < 0:
        decorate(draft, strand, taste)
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
        text = draft.texts[index]
        marks = text[len(text.rstrip(MARKS)) :]
        out.append(Stroke(cell, roles, text, whys, loud, "_" in marks, rolled="~" in marks))
    return row_of(tuple(out))


def _plain(strand: Strand) -> Draft:
    tones = strand.tones
    roles = [
        tuple(Role.CHORD if pitch % 12 in tones.pcs else Role.ADDED for pitch in cell or ())
        for cell in strand.cells
    ]
    whys = ["" for _ in strand.cells]
    for index in strand.added:
        whys[index] = "added to the chord"
    fixed = {0, *strand.added, *(index for index in strand.thirds if index < len(roles))}
    return Draft(list(strand.cells), roles, whys, list(strand.texts), fixed, set())


def _enter(draft: Draft, strand: Strand, entry: Joint) -> None:
    if entry.kind == PASSING:
        draft.lock(0)
    elif entry.kind == ANTICIPATION:
        draft.cells[0], draft.roles[0], draft.texts[0] = (), (), "."
    elif entry.kind == SUSPENSION:
        (held,), (goal,) = entry.head
        name = name_of(strand.tones, goal)
        draft.put(0, held, Role.SUSPENSION, f"held from the chord before, falls to {name}", "s")
        draft.put(1, goal, Role.CHORD, "", token_of(strand, goal))


def _leave(draft: Draft, strand: Strand, leaving: Joint) -> None:
    count, tones = len(draft.cells), strand.tones
    first = count - len(leaving.tail)
    if leaving.from_here:
        pitch = leaving.from_here[0]
        draft.put(first - 1, pitch, Role.CHORD, "", token_of(strand, pitch))
    for index, cell in enumerate(leaving.tail, first):
        known = tuple(
            Role.CHORD if pitch % 12 in tones.pcs else Role.ANTICIPATION for pitch in cell
        )
        if leaving.kind == ANTICIPATION:
            draft.cells[index], draft.roles[index], draft.texts[index] = cell, known, "A"
            draft.whys[index] = "comes early from the next chord"
            draft.lock(index)
        elif leaving.kind == SUSPENSION or known[0] is Role.CHORD:
            draft.put(index, cell[0], Role.CHORD, "", token_of(strand, cell[0]))
        else:
            _put_passing(draft, index, cell[0], strand, leaving)
    if leaving.kind == PASSING:
        struck = [at for at in range(first) if draft.cells[at]]
        draft.lock(*struck[-1:])


def _put_passing(draft: Draft, index: int, pitch: int, strand: Strand, leaving: Joint) -> None:
    struck = next(cell for cell in reversed(draft.cells[:index]) if cell)
    before = struck[0]
    name = name_of(strand.tones, before)
    if leaving.returns:
        draft.put(index, pitch, Role.NEIGHBOUR, f"steps out of {name} and back", "n")
    else:
        why = f"walks from {name} by step into the next chord"
        draft.put(index, pitch, Role.PASSING, why, "p")


def _wishes(draft: Draft, strand: Strand) -> None:
    """Neighbours and passing notes the figure itself asks for, where they are lawful."""
    tones = strand.tones
    for index, wish in strand.wishes:
        if index in draft.fixed or not 0 < index < len(draft.cells) - 1:
            continue
        before, after = single_before(draft, index), single(draft.cells[index + 1])
        if before is None or after is None or strand.clashes(index, before):
            continue
        around = {max(at for at in range(index) if draft.cells[at]), index + 1}
        if wish == "n" and before == after:
            over = tones.step_from(before, 1)
            clear = not strand.clashes(index, over)
            if clear and over % 12 not in tones.pcs and over - before <= 2:
                why = f"steps out of {name_of(tones, before)} and back"
                draft.put(index, over, Role.NEIGHBOUR, why, "n")
                draft.lock(*around)
        elif wish == "p" and 3 <= abs(after - before) <= 4:
            between = tones.step_from(before, 1 if after > before else -1)
            clear = not strand.clashes(index, between)
            if clear and between % 12 not in tones.pcs and abs(after - between) in (1, 2):
                why = f"passes from {name_of(tones, before)} to {name_of(tones, after)}"
                draft.put(index, between, Role.PASSING, why, "p")
                draft.lock(*around)


def _keep(wanted: int, draft: Draft, strand: Strand, taste: Taste) -> None:
    """Keep a note of a pitch class that is needed; where there is none, the nearest free one is it.

    A chord that is to stay whole takes it underneath.
    """
    having = [
        index
        for index, cell in enumerate(draft.cells)
        if any(pitch % 12 == wanted for pitch in cell or ())
    ]
    if having:
        draft.lock(next((index for index in having if index in draft.fixed), having[0]))
        return
    own = [pitch for pitch in strand.shape if pitch % 12 == wanted]
    goals = [*own, *(pitch + 12 for pitch in own if pitch + 12 <= taste.ceiling)]
    under = [pitch - 12 for pitch in own if pitch - 12 > taste.left_top]
    free = [
        (abs(cell[-1] - goal), index == 0, index, goal)
        for goal in (*goals, *under)
        for index, cell in enumerate(draft.cells)
        if cell
        and (goal in goals or (len(cell) > 1 and cell[-1] - goal <= min(12, taste.reach)))
        and not draft.roles[index][0].outside
        and index not in draft.locked
        and (index not in draft.fixed or index == 0)
        and not strand.clashes(index, goal)
    ]
    if not free:
        return
    _, _, at, goal = min(free)
    cell = draft.cells[at] or ()
    others = cell if goal in under else tuple(p for p in cell[:-1] if goal - p <= 12)
    means = goal + 12 if goal in under else goal
    draft.put(at, goal, Role.CHORD, "", token_of(strand, means))
    if others:
        pitches = tuple(sorted({*others, goal}))
        draft.cells[at], draft.roles[at] = pitches, tuple(Role.CHORD for _ in pitches)
        draft.texts[at] = "".join(token_of(strand, p) for p in sorted({*others, means}))


def _doublings(draft: Draft, strand: Strand, taste: Taste) -> dict[int, int]:
    """The octave that joins each accent where it pays: under the top note, or over the lowest."""
    table = costs()["doubling"]
    found: dict[int, int] = {}
    for index, cell in enumerate(draft.cells):
        pitch = single(cell)
        if pitch is None or draft.roles[index][0] is not Role.CHORD or index in strand.thirds:
            continue
        if draft.texts[index] == "A":  # tied into a harmony whose left hand isn't known here
            continue
        cost = taste.doubling + table["price"][taste.strengths[index]]
        cost += table["accent"] if index in strand.accents else 0
        if cost >= 0 or pitch % 12 == strand.tones.leading or _beside_outside(draft, index):
            continue
        highest = min(taste.ceiling, max(strand.shape[-1], 79))
        for other in (pitch - 12, pitch + 12) if pitch >= strand.shape[-1] else (pitch + 12,):
            low = max(taste.left_top + 1, 53)
            if low <= other <= highest and taste.reach >= 12 and not strand.clashes(index, other):
                found[index] = other
                break
    return found


def _beside_outside(draft: Draft, index: int) -> bool:
    near = draft.roles[max(0, index - 1) : index + 2]
    return any(role.outside for roles in near for role in roles)
