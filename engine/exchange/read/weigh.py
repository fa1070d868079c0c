"""The second hearing: each stretch's chord weighed by its notes, the song's chords, and songs.

The first hearing finds where chords change. Here every chord is asked how well it explains a
stretch's notes (`evidence`), how likely it is after the one before in popular songs (the tables of
`engine.reharm`), and how often this very song has it: anywhere, over the same bass, and between
the same basses. What the song has is itself estimated from all its places together, each way of
hearing them by its chance (expectation and maximisation), so that a place where a seventh is left
out learns it from those that strike it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import log
from typing import TYPE_CHECKING

from engine.exchange.read.evidence import Stretch, against, kinds, table
from engine.exchange.read.source import SourceNote
from engine.reharm.families import CLASSES, COUNT
from engine.reharm.style import style

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]

#: Chords that a stretch keeps for the search.
_MOST_WAYS = 14


@dataclass(frozen=True, slots=True)
class Weighed:
    """The chord of a stretch: root and suffix, and how far (0–1) it is ahead of the next best."""

    root: int
    suffix: str
    clear: float


def weigh(stretches: Sequence[Stretch], notes: Sequence[SourceNote]) -> list[Weighed]:
    """The chords of stretches that follow one another; `notes` with their hands, by onset."""
    import numpy as np

    if not stretches:
        return []
    search = _Search(stretches, against(stretches, notes))
    chosen = search.read()
    rows = np.arange(len(stretches))
    best = search.costs[rows, chosen]
    others = search.costs.copy()
    others[rows, chosen] = np.inf
    ahead = np.clip((others.min(axis=1) - best) / table()["sure"], 0.0, 1.0)
    made = kinds()
    return [
        Weighed(name // len(made), made[name % len(made)].suffix, clear)
        for name, clear in zip(
            search.names[rows, chosen].tolist(), ahead.tolist(), strict=True
        )
    ]  # fmt: skip


class _Search:
    """The likeliest chords of every stretch, its ways, as arrays (stretches, ways).

    `names` are rows of roots and kinds, `costs` what the notes cost, `alone` what songs in general
    make of each, `classes` their classes in the key (-1 without one).
    """

    def __init__(self, stretches: Sequence[Stretch], costs: Floats) -> None:
        import numpy as np

        made = kinds()
        prior = np.tile([kind.cost for kind in made], 12)
        order = np.argsort(costs + prior, axis=1, kind="stable")
        self.names: Ints = order[:, :_MOST_WAYS]
        self.costs: Floats = np.take_along_axis(costs, self.names, axis=1)
        self.basses = np.array([stretch.bass for stretch in stretches])
        keys = [stretch.key for stretch in stretches]
        self.keyed = np.array([key is not None for key in keys])
        tonics = np.array([key.tonic.pc if key is not None else 0 for key in keys])
        self.modes = np.array([int(key is not None and key.is_minor) for key in keys])
        roots, kind = self.names // len(made), self.names % len(made)
        families = np.array([one.family for one in made])[kind]
        self.classes: Ints = (roots - tonics[:, None]) % 12 * COUNT + families
        self.in_family = np.array([one.in_family for one in made])[kind]
        single, _ = _style()
        known = single[self.modes[:, None], self.classes] + self.in_family
        unknown = np.array([one.cost for one in made])[kind] + log(12)
        self.alone: Floats = np.where(self.keyed[:, None], known, unknown)
        self.groups = self._groups()

    def read(self) -> Ints:
        """(stretches,) the way of each: by songs in general at first, then by this song too."""
        import numpy as np

        own, rest = np.zeros_like(self.costs), np.ones(len(self.costs))
        chosen = self.cheapest(own, rest)
        for _ in range(int(table()["passes"])):
            own, rest = self._learned(self._likely(chosen, own, rest))
            chosen = self.cheapest(own, rest)
        return chosen

    def _likely(self, chosen: Ints, own: Floats, rest: Floats) -> Floats:
        """(stretches, ways) the chance of each way between the ways chosen around it."""
        import numpy as np

        rows = np.arange(len(chosen))
        classes = self.classes[rows, chosen]
        before = np.concatenate([classes[:1], classes[:-1]])[:, None]
        _, after = _style()
        follows = after[self.modes[:, None], before, self.classes] + self.in_family
        follows[0] = self.alone[0]
        follows = np.where(self.keyed[:, None], follows, self.alone)
        costs = self.costs - np.log(own + rest[:, None] * np.exp(-follows))
        leads = after[self.modes[1:, None], self.classes[:-1], classes[1:, None]]
        costs[:-1] += np.where(self.keyed[1:, None], leads, 0.0)
        chances = np.exp(costs.min(axis=1, keepdims=True) - costs)
        shares: Floats = chances / chances.sum(axis=1, keepdims=True)
        return shares

    def _learned(self, likely: Floats) -> tuple[Floats, Floats]:
        """What the song has: (stretches, ways) chances, and (stretches,) the share left to style.

        `likely` are the chances of the ways; every place is left out of what it is told.
        """
        import numpy as np

        memory = table()["memory"]
        own, rest = np.zeros_like(likely), np.ones(len(likely))
        for group, most, lean in zip(self.groups, memory["share"], memory["lean"], strict=True):
            counts = np.zeros((group.max() + 1, 12 * len(kinds())))
            np.add.at(counts, (group[:, None], self.names), likely)
            others = np.bincount(group)[group] - 1
            seen = np.maximum(0.0, counts[group[:, None], self.names] - likely)
            share = most * others / (others + lean)
            own = (share / np.maximum(1, others))[:, None] * seen + (1 - share)[:, None] * own
            rest = (1 - share) * rest
        return own, rest

    def _groups(self) -> list[Ints]:
        """Numbers that are equal for places alike: all, of one bass, between the same basses."""
        import numpy as np

        bass = self.basses
        padded = np.concatenate([[12, 12], bass, [12, 12]])
        near = np.stack([padded[1:-3], bass, padded[3:-1]])
        far = np.stack([padded[:-4], *near, padded[4:]])
        found = [np.zeros(len(bass), dtype=np.int64), bass]
        for rows in (near, far):
            _, group = np.unique(rows, axis=1, return_inverse=True)
            found.append(group.reshape(-1))
        return found

    def cheapest(self, own: Floats, rest: Floats) -> Ints:
        """(stretches,) the way of each, all costs and changes least in all."""
        import numpy as np

        origins: list[Ints] = []
        costs = self.costs[0] - np.log(own[0] + rest[0] * np.exp(-self.alone[0]))
        for index in range(1, len(self.names)):
            chances = own[index] + rest[index] * np.exp(-self._change(index))
            steps = -np.log(np.maximum(1e-12, chances)) + table()["change"]
            if self.basses[index] == self.basses[index - 1]:
                stays = self.names[index - 1][:, None] == self.names[index][None, :]
                steps = np.where(stays, table()["stay"], steps)
            sums = costs[:, None] + steps
            origins.append(sums.argmin(axis=0))
            costs = sums.min(axis=0) + self.costs[index]
        at = int(costs.argmin())
        path = [at]
        for came in reversed(origins):
            at = int(came[at])
            path.append(at)
        return np.array(path[::-1])

    def _change(self, index: int) -> Floats:
        """(ways before, ways) what songs in general make of a change."""
        import numpy as np

        if not self.keyed[index] or not self.keyed[index - 1]:
            alone: Floats = np.tile(self.alone[index], (self.names.shape[1], 1))
            return alone
        _, after = _style()
        before, now = self.classes[index - 1][:, None], self.classes[index][None, :]
        found: Floats = after[self.modes[index], before, now] + self.in_family[index][None, :]
        return found


@cache
def _style() -> tuple[Floats, Floats]:
    """Costs of chord classes by mode: each alone, and after each other one."""
    import numpy as np

    tables, _ = style()
    single, after = -np.log(tables.single), -np.log(tables.after)
    both = np.arange(CLASSES)
    after[:, both, both] = single  # the class goes on, in another shape
    return single, after
