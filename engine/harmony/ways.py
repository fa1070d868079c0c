"""All the ways one chord can be read in a key, before its neighbours are looked at."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from operator import attrgetter
from typing import Final

from engine.chord import Chord
from engine.harmony import applied, chromatic, plain, tonicised
from engine.harmony.build import Build, build_of
from engine.harmony.candidate import Candidate
from engine.key import Key

_Way = Callable[[int, Build, bool], Iterator[Candidate]]
# Each way, and how a chord must be built to be read so at all.
_WAYS: tuple[tuple[_Way, Callable[[Build], bool]], ...] = (
    (plain.plain, lambda _: True),
    (applied.applied_dominants, applied.is_dominant),
    (applied.leading_tone_chords, applied.is_leading),
    (tonicised.applied_predominants, tonicised.is_predominant),
    (tonicised.applied_neapolitans, tonicised.is_neapolitan),
    (tonicised.applied_six_fours, tonicised.is_six_four),
    (applied.held_dominants, applied.is_held),
    (chromatic.augmented_sixths, chromatic.is_sixth),
    (chromatic.substitutes, chromatic.is_substitute),
    (chromatic.common_tones, chromatic.is_common_tone),
    (plain.six_fours, plain.is_tonic_six_four),
)
_FARTHEST = 12  # fifths from the tonic; beyond it stands an enharmonic note that is nearer
_cost = attrgetter("cost")


@dataclass(slots=True, eq=False)
class Ways:
    """All readings of a chord in a key, the likeliest alone first; `costs` of each alone."""

    readings: Final[tuple[Candidate, ...]]
    costs: Final[tuple[float, ...]]


def ways_to_read(chord: Chord, key: Key) -> Ways:
    """All readings of a chord in a key."""
    root = chord.root.fifths - key.tonic.fifths
    while abs(root) > _FARTHEST:  # Dx in C flat is the E it sounds as
        root -= _FARTHEST if root > 0 else -_FARTHEST
    return ways_of(root, build_of(chord), key.is_minor)


@lru_cache(maxsize=16384)
def ways_of(root: int, build: Build, minor: bool) -> Ways:
    """The same of a root in fifths above the tonic, one object for all keys."""
    found: list[Candidate] = []
    for way in _possible(build):
        found += way(root, build, minor)
    found.sort(key=_cost)
    return Ways(tuple(found), tuple([one.cost for one in found]))


@lru_cache(maxsize=4096)
def _possible(build: Build) -> tuple[_Way, ...]:
    return tuple(way for way, fits in _WAYS if fits(build))
