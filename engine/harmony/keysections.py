"""Sections that are in a key of their own: they begin there, and their cadences are that key's.

Common practice: a part that begins on another tonic, or with the chords that lead to it, and
comes to it by its dominant, while the old key makes no cadence, is in the new key.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, pairwise

from engine.harmony.keystats import QUALITIES

_MAJOR, _MINOR = 12 * QUALITIES.index("M"), 12 * QUALITIES.index("m")
_SEVENTH, _SUSPENDED = 12 * QUALITIES.index("7"), 12 * QUALITIES.index("S")
_SCALES = {0, 2, 4, 5, 7, 9, 11}, {0, 2, 3, 5, 7, 8, 10}
_LEAST = 4  # chords of a section that can have a key of its own
_LEADING = 3  # chords with which a section may come to its tonic


def own_keys(codes: Sequence[int], homes: Sequence[int], sections: Sequence[int]) -> dict[int, int]:
    """By the chord it begins with: the key of each section after the first that has its own.

    Chords are quality times 12 plus root, keys 12 for minor plus tonic, as in the path of keys.
    """
    found: dict[int, int] = {}
    for _, group in groupby(range(len(sections)), key=lambda n: sections[n]):
        places = list(group)
        first = places[0]
        if first and len(places) >= _LEAST:
            key = _own_key([codes[n] for n in places], homes[first])
            if key is not None:
                found[first] = key
    return found


def _own_key(codes: Sequence[int], home: int) -> int | None:
    tonic = _key(codes[0])
    if tonic == home:
        return None
    goals = [_goal(before, after) for before, after in pairwise(codes)]
    early = [goal for goal in goals[: _LEADING - 1] if goal is not None]
    for key in [tonic, *early]:
        if key is None or key == home:
            continue
        if _closes_in(home, key, codes):
            continue
        if key in goals and _is_foreign(key, home, codes):
            return key
        relative = home >= 12 and key == (home + 3) % 12
        if relative and (key in goals or (tonic == key == _key(codes[-1]))):
            return key
    return None


def _key(code: int) -> int | None:
    """The key of which a chord is the tonic."""
    root, quality = code % 12, code - code % 12
    return root if quality == _MAJOR else 12 + root if quality == _MINOR else None


def _goal(before: int, after: int) -> int | None:
    """The key to whose tonic its dominant goes."""
    falls = (before - after) % 12 == 7
    dominant = before - before % 12 in (_MAJOR, _SEVENTH, _SUSPENDED)
    return _key(after) if falls and dominant else None


def _closes_in(home: int, key: int, codes: Sequence[int]) -> bool:
    """Whether the old key makes a cadence; the new tonic is its dominant only with a seventh."""
    return any(
        _goal(before, after) in (home, (home + 12) % 24) and _key(before) != key
        for before, after in pairwise(codes)
    )


def _is_foreign(key: int, home: int, codes: Sequence[int]) -> bool:
    """Whether a dominant that goes to the key's tonic has a note that the old key has not."""
    scale = {(home + step) % 12 for step in _SCALES[home // 12]}
    for before, after in pairwise(codes):
        if _goal(before, after) != key:
            continue
        quality = before - before % 12
        steps = (
            {7, 2}
            | ({11} if quality != _SUSPENDED else set())
            | ({5} if quality != _MAJOR else set())
        )
        if any((key + step) % 12 not in scale for step in steps):
            return True
    return False
