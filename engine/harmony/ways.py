"""All the ways one chord can be read in a key, before its neighbours are looked at."""

from __future__ import annotations

from functools import lru_cache
from itertools import chain

from engine.chord import Chord
from engine.harmony.applied import applied_dominants, held_dominants, leading_tone_chords
from engine.harmony.candidate import Candidate
from engine.harmony.chromatic import augmented_sixths, common_tone, substitutes
from engine.harmony.plain import plain, six_fours
from engine.harmony.tonicised import (
    applied_neapolitans,
    applied_predominants,
    applied_six_fours,
)


@lru_cache(maxsize=16384)
def candidates(chord: Chord, minor: bool) -> tuple[Candidate, ...]:
    """All readings of a chord in C major or C minor, the likeliest alone first."""
    found = list(
        chain(
            plain(chord, minor),
            applied_dominants(chord, minor),
            leading_tone_chords(chord, minor),
            applied_predominants(chord, minor),
            applied_neapolitans(chord, minor),
            applied_six_fours(chord, minor),
            held_dominants(chord, minor),
            augmented_sixths(chord, minor),
            substitutes(chord, minor),
            common_tone(chord),
            six_fours(chord, minor),
        )
    )
    return tuple(sorted(found, key=lambda candidate: candidate.cost))
