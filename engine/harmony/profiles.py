"""Keys from a histogram of pitch classes, by published profiles."""

from __future__ import annotations

from collections.abc import Sequence
from math import dist, sqrt

from engine.harmony.keystats import profiles
from engine.key import Key
from engine.pitch import spelled_near


def key_correlations(
    weights: Sequence[float], profile: str = "krumhansl-kessler"
) -> list[tuple[Key, float]]:
    """The 24 keys with Pearson's r between their profile and twelve weights (C first).

    Best first. Profiles are those of shared/tables/key_profiles.toml.
    """
    found = []
    for mode, values in profiles()[profile].items():
        for tonic in range(12):
            turned = [values[(pc - tonic) % 12] for pc in range(12)]
            found.append((_key(tonic, mode), _pearson(weights, turned)))
    return sorted(found, key=lambda item: -item[1])


def profile_distance(weights: Sequence[float], tonic: int, mode: str) -> float:
    """Euclidean distance of a normalised histogram from a key (Albrecht & Shanahan 2013)."""
    values = profiles()["albrecht-shanahan"][mode]
    total = sum(weights) or 1.0
    return dist([weights[(pc + tonic) % 12] / total for pc in range(12)], values)


def _key(tonic: int, mode: str) -> Key:
    return Key(spelled_near(tonic, 0 if mode == "major" else 3), mode)


def _pearson(one: Sequence[float], two: Sequence[float]) -> float:
    mean_one, mean_two = sum(one) / len(one), sum(two) / len(two)
    a = [x - mean_one for x in one]
    b = [y - mean_two for y in two]
    size = sqrt(sum(x * x for x in a) * sum(y * y for y in b))
    return sum(x * y for x, y in zip(a, b, strict=True)) / size if size else 0.0
