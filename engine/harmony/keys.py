"""The key of a progression: each key's share of belief, and how a key is spelled.

Each of the 24 keys gets a score, the weighted sum of its features. The weights come from
annotated songs and excerpts of them; shares are softmax values of the scores.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from math import exp

from engine.harmony.keyfeatures import Event, features
from engine.harmony.keystats import MODES, feature_weights, statistics
from engine.key import Key
from engine.pitch import Note


def key_shares(events: Sequence[Event]) -> list[tuple[Key, float]]:
    """All 24 keys with their shares of belief, which add up to 1; the likeliest first."""
    weights = feature_weights()
    scores = {
        key: sum(weights[name] * value for name, value in values.items())
        for key, values in features(events, statistics()).items()
    }
    top = max(scores.values())
    raw = {key: exp(score - top) for key, score in scores.items()}
    total = sum(raw.values())
    ranked = sorted(raw.items(), key=lambda item: -item[1])
    centre = centre_of(events)
    return [
        (spelled_key(tonic, MODES[mode], centre), share / total) for (tonic, mode), share in ranked
    ]


def spelled_key(tonic: int, mode: str, centre: float) -> Key:
    """The key of a pitch class, spelled as the chords are: G♭ or F♯ as their roots stand.

    `centre` is where these lie on the line of fifths, as `centre_of` says.
    """
    return min(
        _spellings(tonic, mode),
        key=lambda key: (abs(key.signature + 2 - centre), abs(key.signature)),
    )


def centre_of(events: Sequence[Event]) -> float:
    """The mean place of the chords' roots on the line of fifths, by time."""
    weight = sum(event.duration for event in events) or 1.0
    return sum(event.chord.root.fifths * event.duration for event in events) / weight


@cache
def _spellings(tonic: int, mode: str) -> tuple[Key, ...]:
    keys = (Key(Note(fifths), mode) for fifths in range(-11, 12) if Note(fifths).pc == tonic)
    return tuple(key for key in keys if abs(key.signature) <= 7)
