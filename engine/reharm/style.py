"""What songs do: how likely each chord is in a place, from counts of popular songs.

One log-linear model. Its features are logarithms of smoothed counts (the chord
alone, after the one before, before the one after, between both, in longer
contexts, at a distance of bars, by the place in a phrase and at a song's ends)
and what this very song does nearby (the same bar two or four bars away, what
followed the same chord before). The place in a phrase counts only where a
neighbour is not known: between two known chords it says nothing more. Counts
and weights are in shared/tables/style.json, made by
tests/evaluate/reharm_style.py.

Source of the counts: McGill Billboard annotations (Burgoyne, Wild & Fujinaga,
ISMIR 2011), in the Humdrum form of the Coordinated Corpus of Popular Musics
(2023).
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import shared
from engine.reharm.counts import FIRST, LAST, Tables, read_counts, tables_of
from engine.reharm.families import CLASSES, COUNT

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

#: Bars looked at on each side.
REACH = 4
#: Distances in bars at which songs repeat themselves.
LAGS = (2, 3, 4)

Bars = Sequence[Sequence[int]]


@dataclass(frozen=True, slots=True)
class Place:
    """A place to fill: the chord classes of the bars before and after, nearest bar first.

    The place itself is not among them; `minor` is the mode of the key. Within
    a bar the classes stand in order of time. At most `REACH` bars a side count.
    `phrase` is the bar's place in eight, from 0, where phrases are known;
    `end` is FIRST or LAST in a song's first and last bar.
    """

    minor: bool
    before: tuple[tuple[int, ...], ...] = ()
    after: tuple[tuple[int, ...], ...] = ()
    phrase: int | None = None
    end: int | None = None


def changes(chords: Sequence[int]) -> list[int]:
    """The chords without immediate repetitions."""
    return [cls for at, cls in enumerate(chords) if at == 0 or chords[at - 1] != cls]


def features(tables: Tables, place: Place) -> dict[str, Array]:
    """Each feature of every class in a place, (C,) by name; the names are the table's."""
    import numpy as np

    before, after = place.before[:REACH], place.after[:REACH]
    past = changes([cls for bar in reversed(before) for cls in bar])[::-1]
    future = changes([cls for bar in after for cls in bar])
    found = _expected(tables, int(place.minor), past, future) | _placed(tables, place)
    for lag in LAGS:
        earlier = before[lag - 1][0] if len(before) >= lag else None
        later = after[lag - 1][0] if len(after) >= lag else None
        flat = np.log(tables.single[int(place.minor)])
        if lag in tables.ahead:
            found[f"{lag} bars after"] = (
                flat if earlier is None else np.log(tables.ahead[lag][earlier])
            )
            found[f"{lag} bars before"] = (
                flat if later is None else np.log(tables.behind[lag][:, later])
            )
    found |= _repeated(before, after)
    found |= _remembered(past, future)
    for kind in range(COUNT):
        values = np.zeros(CLASSES)
        values[kind::COUNT] = 1
        found[f"family {kind}"] = values
    return found


def _expected(
    tables: Tables, mode: int, past: Sequence[int], future: Sequence[int]
) -> dict[str, Array]:
    """Logarithms of what the counts of songs say."""
    import numpy as np

    single = tables.single[mode]
    forth = tables.after[mode, past[0]] if past else single
    back = tables.before[mode, :, future[0]] if future else single
    product = forth * back / single
    product = product / product.sum()
    threes = [product, forth, back]
    if past and future:
        threes[0] = _three(tables.between, (past[0], future[0]), product)
    if len(past) > 1:
        threes[1] = _three(tables.following, (past[1], past[0]), forth)
    if len(future) > 1:
        threes[2] = _three(tables.preceding, (future[0], future[1]), back)
    return {
        "alone": np.log(single),
        "after one": np.log(forth),
        "before one": np.log(back),
        "between": np.log(threes[0]),
        "after two": np.log(threes[1]),
        "before two": np.log(threes[2]),
    }


def _placed(tables: Tables, place: Place) -> dict[str, Array]:
    """What songs have in this place of a phrase and at their ends; nothing where it is unknown."""
    import numpy as np

    mode, none = int(place.minor), np.zeros(CLASSES)
    known = None if place.before and place.after else place.phrase
    return {
        "bar of four": none if known is None else tables.in_four[mode, known % 4],
        "bar of eight": none if known is None else tables.in_eight[mode, known],
        "first bar": tables.at_end[mode, 0] if place.end == FIRST else none,
        "last bar": tables.at_end[mode, 1] if place.end == LAST else none,
    }


def _three(
    table: Mapping[tuple[int, int], Mapping[int, int]], key: tuple[int, int], back: Array
) -> Array:
    values = 4 * back
    found = table.get(key, {})
    for cls, count in found.items():
        values[cls] += count
    return values / (4 + sum(found.values()))


def _repeated(before: Bars, after: Bars) -> dict[str, Array]:
    """Bars of this song at a distance, and how far the song repeats itself at that distance."""
    import numpy as np

    around = [tuple(bar) for bar in reversed(before)] + [()] + [tuple(bar) for bar in after]
    here = len(before)
    found: dict[str, Array] = {}
    for distance in range(1, REACH + 1):
        for side, bars in (("before", before), ("after", after)):
            same, root = np.zeros(CLASSES), np.zeros(CLASSES)
            if len(bars) >= distance:
                bar = bars[distance - 1]
                cls = bar[-1] if side == "before" and distance == 1 else bar[0]
                same[cls] = 1
                root[cls // COUNT * COUNT : cls // COUNT * COUNT + COUNT] = 1
            found[f"same {distance} {side}"] = same
            found[f"root {distance} {side}"] = root
    for lag in LAGS:
        pairs = [
            (at, at + lag)
            for at in range(len(around) - lag)
            if here not in (at, at + lag)
        ]  # fmt: skip
        agree = sum(around[a] == around[b] for a, b in pairs) / max(1, len(pairs))
        both = np.zeros(CLASSES)
        for side, bars in (("before", before), ("after", after)):
            values = np.zeros(CLASSES)
            if len(bars) >= lag:
                values[bars[lag - 1][0]] = agree
            found[f"cycle {lag} {side}"] = values
            found[f"strict cycle {lag} {side}"] = values * agree
        if len(before) >= lag and len(after) >= lag and before[lag - 1][0] == after[lag - 1][0]:
            both[before[lag - 1][0]] = 1
        found[f"cycle {lag} both"] = both
    return found


def _remembered(past: Sequence[int], future: Sequence[int]) -> dict[str, Array]:
    """What stood next to the same chords elsewhere in the bars around."""
    import numpy as np

    around = [*reversed(past), -1, *future]
    votes = {name: np.zeros(CLASSES) for name in ("after", "before", "both", "after2", "before2")}
    count = np.zeros(CLASSES)
    shares = np.zeros(COUNT)
    for at, cls in enumerate(around):
        if cls < 0:
            continue
        count[cls] += 1
        shares[cls % COUNT] += 1
        follows = bool(past) and at > 0 and around[at - 1] == past[0]
        precedes = bool(future) and at + 1 < len(around) and around[at + 1] == future[0]
        votes["after"][cls] += follows
        votes["before"][cls] += precedes
        votes["both"][cls] += follows and precedes
        votes["after2"][cls] += (
            follows and len(past) > 1 and at > 1 and around[at - 2] == past[1]
        )  # fmt: skip
        votes["before2"][cls] += (
            precedes and len(future) > 1 and at + 2 < len(around) and around[at + 2] == future[1]
        )
    found: dict[str, Array] = {}
    for name, vote in votes.items():
        found[f"heard {name}"] = np.where(vote > 0, 1.0, 0.0)
        found[f"share {name}"] = vote / max(1.0, vote.sum())
    shares /= max(1.0, shares.sum())
    found["heard"] = np.where(count > 0, 1.0, 0.0)
    found["often"] = np.log1p(count)
    found["family share"] = np.tile(shares, 12)
    found["family heard"] = np.tile((shares > 0) * 1.0, 12)
    return found


def chances(tables: Tables, weights: Mapping[str, float], place: Place) -> Array:
    """(C,) the probability of every class in a place; they sum to 1."""
    import numpy as np

    found = features(tables, place)
    score = sum((weights[name] * values for name, values in found.items()), np.zeros(CLASSES))
    likely = np.exp(score - score.max())
    shares: Array = likely / likely.sum()
    return shares


@lru_cache(maxsize=1)
def style() -> tuple[Tables, Mapping[str, float]]:
    """The tables and weights of shared/tables/style.json."""
    found = json.loads(shared.text("tables", "style.json"))
    return tables_of(read_counts(found)), found["weights"]


@lru_cache(maxsize=512)
def likelihood(place: Place) -> Array:
    """(C,) the probability of every class in a place, by the project's own table."""
    return chances(*style(), place)
