"""All the ways one chord can be read in a key, before its neighbours are looked at."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from operator import attrgetter
from typing import Final

from engine.chord import Chord
from engine.harmony import applied, chromatic, plain, tonicised
from engine.harmony.build import Build, Stack, build_of
from engine.harmony.candidate import Candidate
from engine.key import Key

_Way = Callable[[int, Build, bool], Iterator[Candidate]]
_Over = Callable[[Build], bool]


def _over_third(build: Build) -> bool:
    return build.on_third


def _over_fifth(build: Build) -> bool:
    return build.bass == 1


# Each way, and what a chord must be to be read so at all: its stack, and its bass (None: any bass).
_WAYS: tuple[tuple[_Way, Callable[[Stack], bool], _Over | None], ...] = (
    (plain.plain, lambda _: True, None),
    (applied.applied_dominants, applied.is_dominant, None),
    (applied.leading_tone_chords, applied.is_leading, None),
    (tonicised.applied_predominants, tonicised.is_predominant, None),
    (tonicised.applied_neapolitans, tonicised.is_major_triad, _over_third),
    (tonicised.applied_six_fours, tonicised.is_triad, _over_fifth),
    (applied.held_dominants, applied.is_held_chord, applied.is_held),
    (chromatic.augmented_sixths, chromatic.is_sixth, None),
    (chromatic.substitutes, chromatic.is_substitute, None),
    (chromatic.common_tones, chromatic.is_common_tone, None),
    (plain.six_fours, plain.is_tonic_triad, _over_fifth),
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
    for way, over in _possible(build.stack):
        if over is None or over(build):
            found += way(root, build, minor)
    found.sort(key=_cost)
    return Ways(tuple(found), tuple(map(_cost, found)))


@lru_cache(maxsize=4096)
def _possible(stack: Stack) -> tuple[tuple[_Way, _Over | None], ...]:
    return tuple((way, over) for way, fits, over in _WAYS if fits(stack))
