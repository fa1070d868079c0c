"""The second hearing: each stretch's chord weighed by its notes, the song's chords, and songs.

The first hearing finds where chords change. Here every note of a stretch is asked what it would
be if it were no member (a neighbour, a passing note, a suspension, an early note of the next
chord, or unexplained), every member whether it is heard, and every chord how likely it is after
the one before: in popular songs (the tables of `engine.reharm`), and in this very song. All are
negative logarithms of chances; the cheapest row of chords is the reading.
"""

from __future__ import annotations

import tomllib
from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import log
from typing import TYPE_CHECKING, Any

import shared
from engine.chord import Chord, parse_chord
from engine.exchange.read.source import SourceNote
from engine.key import Key
from engine.reharm.families import CLASSES, COUNT, family
from engine.reharm.style import style

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]

#: Chords that a stretch keeps for the search.
_MOST_WAYS = 14


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of one harmony: its place, bass as a pitch class, key, and its meter's strengths.

    `strong` are the onsets in it that stand on a strong beat.
    """

    onset: Fraction
    end: Fraction
    bass: int
    key: Key | None
    strong: frozenset[Fraction]


@dataclass(frozen=True, slots=True)
class Weighed:
    """The chord of a stretch: root and suffix, and how far (0–1) it is ahead of the next best."""

    root: int
    suffix: str
    clear: float


@dataclass(frozen=True, slots=True)
class _Kind:
    """A kind of chord: members by semitone with what it costs to miss each, and its share."""

    suffix: str
    missed: Mapping[int, float]
    cost: float
    family: int
    in_family: float


@cache
def _table() -> dict[str, Any]:
    found: dict[str, Any] = tomllib.loads(shared.text("tables", "recognise.toml"))["weigh"]
    return found


@cache
def _kinds() -> tuple[_Kind, ...]:
    table = _table()
    shares: dict[str, float] = table["share"]
    total = sum(shares.values())
    chords = {suffix: parse_chord(f"C{suffix}") for suffix in shares}
    families = [0.0] * COUNT
    for suffix, share in shares.items():
        families[family(chords[suffix])] += share
    return tuple(
        _Kind(
            suffix,
            _missed(chords[suffix]),
            -log(share / total),
            family(chords[suffix]),
            -log(share / families[family(chords[suffix])]),
        )
        for suffix, share in shares.items()
    )


def _missed(chord: Chord) -> dict[int, float]:
    """What it costs that a member is not heard; extensions under the highest are often left out."""
    price = _table()["missing"]
    highest = max(member.degree for member in chord.members)
    out: dict[int, float] = {}
    for member in chord.members:
        cost = price["extension"]
        if member.degree == 1:
            cost = price["root"]
        elif member.degree == 3:
            cost = price["third"]
        elif member.degree == 5 and not member.alter:
            cost = price["fifth"]
        elif member.degree == 7:
            cost = price["seventh"]
        elif 7 < member.degree < highest:
            cost = price["inner"]
        out[member.interval.semitones % 12] = cost
    return out


@dataclass(frozen=True)
class _Heard:
    """What is heard in a stretch, by pitch class.

    `outside` is what each pitch class costs where it is no member, `sounded` how surely it is
    heard (0–1).
    """

    outside: tuple[float, ...]
    sounded: tuple[float, ...]


def weigh(stretches: Sequence[Stretch], notes: Sequence[SourceNote]) -> list[Weighed]:
    """The chords of stretches that follow one another; `notes` with their hands, by onset."""
    if not stretches:
        return []
    heard = _all_heard(stretches, notes)
    ways = [_ways(stretch, one) for stretch, one in zip(stretches, heard, strict=True)]
    search = _Search(stretches, ways)
    chosen = _cheapest(search, None)
    for _ in range(int(_table()["passes"])):
        chosen = _cheapest(search, chosen)
    out: list[Weighed] = []
    for options, at in zip(ways, chosen, strict=True):
        best = options[at]
        others = [way.cost for n, way in enumerate(options) if n != at]
        ahead = (min(others) - best.cost) / _table()["sure"] if others else 1.0
        out.append(Weighed(best.root, best.kind.suffix, min(1.0, max(0.0, ahead))))
    return out


@dataclass(frozen=True, slots=True)
class _Way:
    """A chord that a stretch may be: what its notes cost, and its class in the key."""

    root: int
    kind: _Kind
    cost: float
    cls: int


@dataclass(frozen=True)
class _Templates:
    """All roots and kinds as rows: what it costs to miss each pitch class, who is no member."""

    missed: Floats
    foreign: Floats  # 1.0 where a pitch class is no member
    bass: Floats
    prior: Floats


@cache
def _templates() -> _Templates:
    import numpy as np

    kinds, price = _kinds(), _table()["bass"]
    rows = [(root, kind) for root in range(12) for kind in kinds]
    missed, foreign = np.zeros((len(rows), 12)), np.ones((len(rows), 12))
    bass = np.zeros((len(rows), 12))
    for row, (root, kind) in enumerate(rows):
        for semitone, cost in kind.missed.items():
            missed[row, (root + semitone) % 12] = cost
            foreign[row, (root + semitone) % 12] = 0.0
        for pc in range(12):
            step = (pc - root) % 12
            bass[row, pc] = price["member" if step in kind.missed else "foreign"][step]
    return _Templates(missed, foreign, bass, np.array([kind.cost for _, kind in rows]))


def _ways(stretch: Stretch, heard: _Heard) -> list[_Way]:
    """The chords that explain a stretch best, the best first."""
    import numpy as np

    made, kinds = _templates(), _kinds()
    outside = np.array(heard.outside)
    outside[stretch.bass] = 0.0
    costs = made.missed @ (1.0 - np.array(heard.sounded)) + made.foreign @ outside
    costs += made.bass[:, stretch.bass]
    found: list[_Way] = []
    for row in np.argsort(costs + made.prior, kind="stable")[:_MOST_WAYS].tolist():
        root, kind = row // len(kinds), kinds[row % len(kinds)]
        cls = -1
        if stretch.key is not None:
            cls = (root - stretch.key.tonic.pc) % 12 * COUNT + kind.family
        found.append(_Way(root, kind, float(costs[row]), cls))
    return found


def _all_heard(stretches: Sequence[Stretch], notes: Sequence[SourceNote]) -> list[_Heard]:
    lines: dict[object, list[SourceNote]] = {}
    for note in notes:
        lines.setdefault(note.hand, []).append(note)
    costs: list[list[tuple[int, float]]] = [[] for _ in stretches]
    starts = [stretch.onset for stretch in stretches]
    for line in lines.values():
        line.sort(key=lambda note: (note.onset, note.midi))
        onsets = sorted({note.onset for note in line})
        struck: dict[Fraction, list[int]] = {}
        for note in line:
            struck.setdefault(note.onset, []).append(note.midi)
        for note in line:
            at = max(0, bisect_right(starts, note.onset) - 1)
            stretch = stretches[at]
            place = bisect_left(onsets, note.onset)
            before = struck[onsets[place - 1]] if place else []
            after = struck[onsets[place + 1]] if place + 1 < len(onsets) else []
            last = place + 1 >= len(onsets) or onsets[place + 1] >= stretch.end
            first = not place or onsets[place - 1] < stretch.onset
            cost = _outside(note, stretch, before, after, first=first, last=last)
            costs[at].append((note.midi % 12, cost))
            if note.end > stretch.end and at + 1 < len(stretches):
                costs[at + 1].append((note.midi % 12, _table()["outside"]["held"]))
    return [_sum(found) for found in costs]


def _outside(
    note: SourceNote,
    stretch: Stretch,
    before: Sequence[int],
    after: Sequence[int],
    *,
    first: bool,
    last: bool,
) -> float:
    """What it costs that a note is no member of its chord, by what its line makes of it."""
    price = _table()["outside"]
    if last and note.end > stretch.end:
        return float(price["early"])
    midi = note.midi
    onward = [midi - other for other in after if 0 < abs(midi - other) <= 2]
    come = [other - midi for other in before if 0 < abs(midi - other) <= 2]
    if first and midi in before and any(step > 0 for step in onward):
        return float(price["suspended"])
    if onward and come:
        return float(price["strong" if note.onset in stretch.strong else "stepwise"])
    if onward:
        return float(price["left_by_step"])
    return float(price["entered_by_step"] if come and last else price["unexplained"])


def _sum(found: Sequence[tuple[int, float]]) -> _Heard:
    table = _table()
    outside = [0.0] * 12
    sounded = [0.0] * 12
    for pc, cost in found:
        outside[pc] = min(table["outside"]["most"], outside[pc] + cost)
        sure = 1.0 if cost > table["outside"]["strong"] else table["half_heard"]
        sounded[pc] = 1.0 - (1.0 - sounded[pc]) * (1.0 - sure)
    return _Heard(tuple(outside), tuple(sounded))


@cache
def _style() -> tuple[Floats, Floats]:
    """Costs of chord classes by mode: each alone, and after each other one."""
    import numpy as np

    tables, _ = style()
    single, after = -np.log(tables.single), -np.log(tables.after)
    both = np.arange(CLASSES)
    after[:, both, both] = single  # the class goes on, in another shape
    return single, after


class _Search:
    """The ways of every stretch as arrays, for a search over all stretches."""

    def __init__(self, stretches: Sequence[Stretch], ways: Sequence[Sequence[_Way]]) -> None:
        import numpy as np

        ids: dict[tuple[int, str], int] = {}
        self.stretches = stretches
        self.names = [
            np.array([ids.setdefault((way.root, way.kind.suffix), len(ids)) for way in options])
            for options in ways
        ]
        self.count = len(ids)
        self.costs = [np.array([way.cost for way in options]) for options in ways]
        self.classes = [np.array([way.cls for way in options]) for options in ways]
        self.kinds = [np.array([way.kind.cost for way in options]) for options in ways]
        self.in_family = [np.array([way.kind.in_family for way in options]) for options in ways]

    def alone(self, index: int) -> Floats:
        """(ways,) what songs in general make of the ways of a stretch."""
        key = self.stretches[index].key
        if key is None:
            return self.kinds[index] + log(12)
        single, _ = _style()
        found: Floats = single[int(key.is_minor), self.classes[index]] + self.in_family[index]
        return found

    def change(self, index: int) -> Floats:
        """(ways before, ways) the same after each way of the stretch before."""
        key = self.stretches[index].key
        before = self.classes[index - 1]
        if key is None or before[0] < 0:
            return self.alone(index)[None, :].repeat(len(before), axis=0)
        _, after = _style()
        pairs = after[int(key.is_minor), before[:, None], self.classes[index][None, :]]
        found: Floats = pairs + self.in_family[index][None, :]
        return found


class _Memory:
    """What this song does: its chords, and what follows each, the place itself left out."""

    def __init__(self, search: _Search, known: Sequence[int]) -> None:
        import numpy as np

        self.search = search
        self.own = [int(names[at]) for names, at in zip(search.names, known, strict=True)]
        self.single = np.bincount(self.own, minlength=search.count).astype(float)
        self.pairs = np.zeros((search.count, search.count))
        for one, other in zip(self.own, self.own[1:], strict=False):
            if one != other:
                self.pairs[one, other] += 1
        self.firsts = self.pairs.sum(axis=1)

    def mixed(self, costs: Floats, index: int) -> Floats:
        """(ways before, ways) costs mixed with what this song does, the place left out."""
        import numpy as np

        share = _table()["memory"]
        names, own = self.search.names[index], self.own[index]
        here = names == own
        chance = share["alone"] * (self.single[names] - here) / max(1, len(self.own) - 1)
        chances = chance[None, :].repeat(len(costs), axis=0)
        if index:
            before, past = self.search.names[index - 1], self.own[index - 1]
            same = ((before == past) & (past != own)).astype(float)
            follows = self.pairs[before[:, None], names[None, :]] - same[:, None] * here[None, :]
            others = np.maximum(1.0, self.firsts[before] - same)
            chances = chances + share["after"] * follows / others[:, None]
        rest = 1.0 - share["alone"] - share["after"]
        found: Floats = -np.log(np.maximum(1e-12, rest * np.exp(-costs) + chances))
        return found


def _cheapest(search: _Search, known: Sequence[int] | None) -> list[int]:
    """One way for each stretch, all costs and changes least in all; `known` is a first choice."""
    import numpy as np

    table = _table()
    memory = None if known is None else _Memory(search, known)
    origins: list[Ints] = []
    first = search.alone(0)[None, :]
    costs = search.costs[0] + (memory.mixed(first, 0) if memory else first)[0]
    for index in range(1, len(search.names)):
        steps = search.change(index)
        steps = (memory.mixed(steps, index) if memory else steps) + table["change"]
        if search.stretches[index].bass == search.stretches[index - 1].bass:
            stays = search.names[index - 1][:, None] == search.names[index][None, :]
            steps = np.where(stays, table["stay"], steps)
        sums = costs[:, None] + steps
        origins.append(sums.argmin(axis=0))
        costs = sums.min(axis=0) + search.costs[index]
    at = int(costs.argmin())
    path = [at]
    for came in reversed(origins):
        at = int(came[at])
        path.append(at)
    path.reverse()
    return path
