"""Counts of chords in songs, and the smoothed tables that are looked up instead of them.

Source of the counts: McGill Billboard annotations (Burgoyne, Wild & Fujinaga,
ISMIR 2011), in the Humdrum form of the Coordinated Corpus of Popular Musics
(2023); they stand in shared/tables/style.json.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from engine.reharm.families import CLASSES, COUNT

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

#: Bars of the longest phrase whose places are counted; a song's ends are two places more.
PHRASE = 8
FIRST, LAST = PHRASE, PHRASE + 1
PLACES = PHRASE + 2


@dataclass(frozen=True, slots=True)
class Counts:
    """How often chords, pairs and threes of chords stand in songs, by class.

    `single` is (2, C) by mode; `pairs` (2, C, C) of a change from one to the
    next; `threes` maps (before, after) to counts of what stands between them,
    and likewise for what follows two and what precedes two; `apart[n]` is
    (C, C), first chords of bars n bars apart; `places` (2, `PLACES`, C) first
    chords of the bars of a phrase and of a song's ends.
    """

    single: Array
    pairs: Array
    between: Mapping[tuple[int, int], Mapping[int, int]]
    following: Mapping[tuple[int, int], Mapping[int, int]]
    preceding: Mapping[tuple[int, int], Mapping[int, int]]
    apart: Mapping[int, Array]
    places: Array


@dataclass(frozen=True, slots=True)
class Tables:
    """Smoothed probabilities of a set of counts, ready to be looked up."""

    single: Array
    after: Array  # [mode, before, chord]
    before: Array  # [mode, chord, after]
    between: Mapping[tuple[int, int], Mapping[int, int]]
    following: Mapping[tuple[int, int], Mapping[int, int]]
    preceding: Mapping[tuple[int, int], Mapping[int, int]]
    ahead: Mapping[int, Array]  # lag: [earlier, chord]
    behind: Mapping[int, Array]  # lag: [chord, later]
    in_four: Array  # [mode, place, chord], logarithms, against the chord anywhere
    in_eight: Array
    at_end: Array  # [mode, first or last, chord]


def counts_of(single: Array, pairs: Array, threes: Mapping[tuple[int, int, int], int],
              apart: Mapping[int, Array], places: Array) -> Counts:  # fmt: skip
    """Counts with the threes sorted by what is known of them."""
    between: dict[tuple[int, int], dict[int, int]] = {}
    following: dict[tuple[int, int], dict[int, int]] = {}
    preceding: dict[tuple[int, int], dict[int, int]] = {}
    for (first, middle, last), count in threes.items():
        between.setdefault((first, last), {})[middle] = count
        following.setdefault((first, middle), {})[last] = count
        preceding.setdefault((middle, last), {})[first] = count
    return Counts(single, pairs, between, following, preceding, apart, places)


def tables_of(counts: Counts) -> Tables:
    """Smoothed tables: each backs off to what is simpler (Witten-Bell in spirit, fixed weights)."""
    both = counts.single.sum(0) + 0.3
    alone = both / both.sum()
    single = (counts.single + 20 * alone) / (counts.single.sum(1, keepdims=True) + 20)
    pairs = counts.pairs.sum(0)
    moves = _by_interval(pairs)
    forth = moves / moves.sum(1, keepdims=True)
    back = moves / moves.sum(0, keepdims=True)
    after = pairs + 12 * (0.5 * forth + 0.5 * alone[None])
    after /= after.sum(1, keepdims=True)
    before = pairs + 12 * (0.5 * back + 0.5 * alone[:, None])
    before /= before.sum(0, keepdims=True)
    ahead: dict[int, Array] = {}
    behind: dict[int, Array] = {}
    for lag, n in counts.apart.items():
        ahead[lag] = (n + 10 * alone[None]) / (n.sum(1, keepdims=True) + 10)
        behind[lag] = (n + 10 * alone[:, None]) / (n.sum(0, keepdims=True) + 10)
    eight, ends = counts.places[:, :PHRASE], counts.places[:, PHRASE:]
    anywhere = eight.sum(1, keepdims=True)
    anywhere = (anywhere + 20 * alone) / (anywhere.sum(2, keepdims=True) + 20)
    return Tables(
        single=single,
        after=(counts.pairs + 8 * after) / (counts.pairs.sum(2, keepdims=True) + 8),
        before=(counts.pairs + 8 * before) / (counts.pairs.sum(1, keepdims=True) + 8),
        between=counts.between,
        following=counts.following,
        preceding=counts.preceding,
        ahead=ahead,
        behind=behind,
        in_four=_tendency(eight[:, :4] + eight[:, 4:], anywhere),
        in_eight=_tendency(eight, anywhere),
        at_end=_tendency(ends, anywhere),
    )


def _tendency(counts: Array, anywhere: Array) -> Array:
    """(2, places, C): logarithms of how much likelier each class is in a place than anywhere."""
    import numpy as np

    here = (counts + 30 * anywhere) / (counts.sum(2, keepdims=True) + 30)
    found: Array = np.log(here / anywhere)
    return found


def _by_interval(pairs: Array) -> Array:
    """(C, C): pair counts shared by all pairs with the same families and interval of roots."""
    import numpy as np

    kind, root = np.arange(CLASSES) % COUNT, np.arange(CLASSES) // COUNT
    interval = (root[None] - root[:, None]) % 12
    shape = np.broadcast_to
    first, last = shape(kind[:, None], pairs.shape), shape(kind[None], pairs.shape)
    moves = np.full((COUNT, 12, COUNT), 0.1)
    np.add.at(moves, (first, interval, last), pairs)
    found: Array = moves[first, interval, last]
    return found


def read_counts(found: Mapping[str, Any]) -> Counts:
    """The counts of the table: text of `class:count` pairs by row."""
    import numpy as np

    single = np.array(found["single"], dtype=float)
    pairs = np.zeros((2, CLASSES, CLASSES))
    for mode, rows in enumerate((found["pairs"]["major"], found["pairs"]["minor"])):
        for first, row in rows.items():
            for cls, count in _cells(row):
                pairs[mode, int(first), cls] = count
    threes = {
        (int(first), middle, last): count
        for key, row in found["threes"].items()
        for first, middle in (map(int, key.split()),)
        for last, count in _cells(row)
    }
    apart = {}
    for lag, rows in found["apart"].items():
        apart[int(lag)] = np.zeros((CLASSES, CLASSES))
        for first, row in rows.items():
            for cls, count in _cells(row):
                apart[int(lag)][int(first), cls] = count
    places = np.zeros((2, PLACES, CLASSES))
    for mode, rows in enumerate((found["places"]["major"], found["places"]["minor"])):
        for place, row in rows.items():
            for cls, count in _cells(row):
                places[mode, int(place), cls] = count
    return counts_of(single, pairs, threes, apart, places)


def _cells(row: str) -> list[tuple[int, int]]:
    return [(int(cls), int(count)) for cls, count in (cell.split(":") for cell in row.split())]
