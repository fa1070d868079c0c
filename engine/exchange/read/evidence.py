"""What the notes of a stretch say for and against every chord, as negative logarithms of chances.

Every note is asked what it would be if it were no member (a neighbour, a passing note, a
suspension, an early note of the next chord, the open fifth that a left hand plays under anything,
or unexplained), and every member how often so many notes of a right hand leave it out.
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
from engine.chord import Chord, Member, parse_chord
from engine.exchange.read.source import SourceNote
from engine.key import Key
from engine.reharm.families import COUNT, family
from engine.song import Hand

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]

_FIFTH = 7


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
class Kind:
    """A kind of chord: its members by semitone, its share among all kinds and in its family.

    `missed` has for every member its row in the table of what goes missing; shares are costs.
    `alone` tells that it has one or two members, of which a right hand plays all.
    """

    suffix: str
    missed: Mapping[int, str]
    cost: float
    family: int
    in_family: float

    @property
    def alone(self) -> bool:
        return len(self.missed) < 3


@cache
def table() -> dict[str, Any]:
    """The prices of the second hearing, from shared/tables/recognise.toml."""
    found: dict[str, Any] = tomllib.loads(shared.text("tables", "recognise.toml"))["weigh"]
    return found


@cache
def kinds() -> tuple[Kind, ...]:
    """The kinds of chords that are weighed."""
    share: dict[str, float] = table()["share"]
    total = sum(share.values())
    chords = {suffix: parse_chord(f"C{suffix}") for suffix in share}
    families = [0.0] * COUNT
    for suffix, count in share.items():
        families[family(chords[suffix])] += count
    return tuple(
        Kind(
            suffix,
            {m.interval.semitones % 12: _row(m, chords[suffix]) for m in chords[suffix].members},
            -log(count / total),
            family(chords[suffix]),
            -log(count / families[family(chords[suffix])]),
        )
        for suffix, count in share.items()
    )


def _row(member: Member, chord: Chord) -> str:
    """Which row of the table tells how often a member goes missing."""
    many = len(chord.members) > 3
    if 7 < member.degree < max(other.degree for other in chord.members):
        return "inner"
    if member.degree == 5 and not member.alter:
        return "fifth_of_many" if many else "fifth"
    return {1: "root", 3: "third", 7: "seventh"}.get(member.degree, "extension")


@dataclass(frozen=True)
class _Templates:
    """All roots and kinds as rows of pitch classes.

    `gone` and `there` are, by how many notes are struck, what it costs to miss and to hear each
    member; `foreign` is 1 where a pitch class is no member; `alone` tells the kinds of that name;
    """

    gone: Floats
    there: Floats
    foreign: Floats
    bass: Floats
    alone: Floats


@cache
def _templates() -> _Templates:
    import numpy as np

    price, missing = table()["bass"], table()["missing"]
    rows = [(root, kind) for root in range(12) for kind in kinds()]
    sizes = len(missing["root"])
    gone, there = np.zeros((sizes, len(rows), 12)), np.zeros((sizes, len(rows), 12))
    foreign, bass = np.ones((len(rows), 12)), np.zeros((len(rows), 12))
    for row, (root, kind) in enumerate(rows):
        for semitone, name in kind.missed.items():
            shares = np.array(missing[name])
            gone[:, row, (root + semitone) % 12] = -np.log(shares)
            there[:, row, (root + semitone) % 12] = -np.log(1.0 - shares)
            foreign[row, (root + semitone) % 12] = 0.0
        for pc in range(12):
            step = (pc - root) % 12
            bass[row, pc] = price["member" if step in kind.missed else "foreign"][step]
    alone = np.array([kind.alone for _, kind in rows])
    return _Templates(gone, there, foreign, bass, alone)


@dataclass(slots=True)
class _Heard:
    """What is heard in a stretch: (pitch class, cost as no member, whether the right hand's)."""

    notes: list[tuple[int, float, bool]]

    @property
    def struck(self) -> int:
        return sum(right for _, _, right in self.notes)


def against(stretches: Sequence[Stretch], notes: Sequence[SourceNote]) -> Floats:
    """(stretches, 12 roots × kinds) what the notes cost as each chord; `notes` with their hands."""
    import numpy as np

    made = _templates()
    heard = _all_heard(stretches, notes)
    count = len(stretches)
    outside, sounded, right = (np.zeros((count, 12)) for _ in range(3))
    most, strong = table()["outside"]["most"], table()["outside"]["strong"]
    for at, one in enumerate(heard):
        for pc, cost, of_right in one.notes:
            outside[at, pc] = min(most, outside[at, pc] + cost)
            sure = 1.0 if cost > strong else table()["half_heard"]
            sounded[at, pc] = 1.0 - (1.0 - sounded[at, pc]) * (1.0 - sure)
            if of_right:
                right[at, pc] = 1.0 - (1.0 - right[at, pc]) * (1.0 - sure)
    basses = np.array([stretch.bass for stretch in stretches])
    outside[np.arange(count), basses] = 0.0
    costs = outside @ made.foreign.T + made.bass[:, basses].T
    struck = np.array([one.struck for one in heard])
    sizes = np.clip(struck, 1, len(made.gone)) - 1
    for size in np.unique(sizes):
        here = sizes == size
        gone, there = made.gone[size].T, made.there[size].T
        both = (1.0 - sounded[here]) @ gone + sounded[here] @ there
        alone = (1.0 - right[here]) @ gone + right[here] @ there
        costs[here] += np.where(made.alone, alone, both) if size else both
    return costs


def _all_heard(stretches: Sequence[Stretch], notes: Sequence[SourceNote]) -> list[_Heard]:
    lines: dict[object, list[SourceNote]] = {}
    for note in notes:
        lines.setdefault(note.hand, []).append(note)
    heard = [_Heard([]) for _ in stretches]
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
            right = note.hand is not Hand.LEFT
            heard[at].notes.append((note.midi % 12, cost, right))
            if note.end > stretch.end and at + 1 < len(stretches):
                held = table()["outside"]["held"]
                heard[at + 1].notes.append((note.midi % 12, held, right))
    return heard


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
    price = table()["outside"]
    if last and note.end > stretch.end:
        return float(price["early"])
    midi = note.midi
    if note.hand is Hand.LEFT and (midi - stretch.bass) % 12 == _FIFTH:
        return float(price["open_fifth"])
    onward = [midi - other for other in after if 0 < abs(midi - other) <= 2]
    come = [other - midi for other in before if 0 < abs(midi - other) <= 2]
    if first and midi in before and any(step > 0 for step in onward):
        return float(price["suspended"])
    if onward and come:
        return float(price["strong" if note.onset in stretch.strong else "stepwise"])
    if onward:
        return float(price["left_by_step"])
    return float(price["entered_by_step"] if come and last else price["unexplained"])
