"""The path through the keys: which key each chord of a song is heard in.

Each chord is likelier in some keys than in others; to change key costs, and a
full cadence speaks for its key. The cheapest path (Viterbi) stays in the
written key unless the chords leave it for long enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from engine.chord import Chord
from engine.harmony.keysections import own_keys
from engine.harmony.keystats import MODES, QUALITIES, SIZE, heard, statistics
from engine.key import Key

# In nats of the likelihoods; tuned on annotated songs that modulate and that do not.
LEAVE = 8.5
RETURN = 5.0
STAY = 0.5  # for each chord outside the written key
FAR = 1.0  # more for keys with few common notes
CADENCE = 2.0  # what a full cadence in a key speaks for being in it
HOME = 5.0, 8.0  # … in the written key, major and minor: it is not left within a phrase
SECTION = 6.0  # what a section with cadences of its own speaks for beginning in their key
CONFIRMED = 14.0  # and a second one, where on its tonic the music began anew


def state_of(key: Key) -> tuple[int, int]:
    """A key as the path knows it: its tonic's pitch class, and 1 where it is minor."""
    return key.tonic.pc, int(key.is_minor)


_TONICS = [12 * QUALITIES.index(letter) for letter in "Mm"]
_SECONDS = [12 * QUALITIES.index(letter) for letter in "mo7"]
_SEVENTH = 12 * QUALITIES.index("7")
_STATES = [(tonic, mode) for mode in range(len(MODES)) for tonic in range(12)]
# A chord is its quality times 12 and its root's pitch class; a key a place in the list of states.


def _relative(code: int, tonic: int) -> int:
    return code - code % 12 + (code - tonic) % 12


def _signature(tonic: int, mode: int) -> int:
    return (tonic * 7 % 12) - (3 if mode else 0)


def _entering(key: int, home: int, signature: int) -> float:
    """What it costs to change into a key, seen from the written one and its signature."""
    if key == home:
        return RETURN
    away = abs((_signature(*_STATES[key]) - signature + 6) % 12 - 6)
    return LEAVE + FAR * max(0, away - 2) / 2 + STAY


@lru_cache(maxsize=SIZE)
def _alone(code: int) -> tuple[float, ...]:
    """What a chord costs in each key."""
    alone = statistics().alone
    return tuple([-alone[mode][_relative(code, tonic)] for tonic, mode in _STATES])


@lru_cache(maxsize=8192)
def _staying(before: int, code: int, home: int) -> tuple[float, ...]:
    """What a chord costs in each key after another; struck again only for not being at home."""
    away = [0.0 if key == home else STAY for key in range(len(_STATES))]
    if before == code:
        return tuple(away)
    after = statistics().after
    return tuple(
        [
            more - after[mode][_relative(before, tonic)][_relative(code, tonic)]
            for more, (tonic, mode) in zip(away, _STATES, strict=True)
        ]
    )


@lru_cache(maxsize=8192)
def _coming(code: int, home: int, signature: int) -> tuple[float, ...]:
    """What it costs to come into each key with a chord."""
    alone = _alone(code)
    return tuple([cost + _entering(key, home, signature) for key, cost in enumerate(alone)])


@lru_cache(maxsize=8192)
def _cadence(prepared: int, dominant: int, tonic: int, home: int) -> int | None:
    """The key in which three chords are a full cadence.

    That is ii or IV, V and I; the written key's own tonic is a V only where it has a seventh.
    """
    if (dominant - tonic) % 12 != 7 or tonic - tonic % 12 not in _TONICS:
        return None
    kind, root = dominant - dominant % 12, dominant % 12
    if kind != _SEVENTH and (kind != _TONICS[0] or root == home):
        return None
    quality, above = prepared - prepared % 12, (prepared - tonic) % 12
    if not (above == 2 and quality in _SECONDS) and not (above == 5 and quality in _TONICS):
        return None
    return _STATES.index((tonic % 12, _TONICS.index(tonic - tonic % 12)))


def _cadences(
    codes: Sequence[int], homes: Sequence[int], sections: Sequence[int]
) -> dict[int, tuple[int, float]]:
    """By the chord it ends on: the key of each full cadence, and what it speaks for that key."""
    found: dict[int, tuple[int, float]] = {}
    last, begun, ended = -1, 0, 0  # the last cadence's key, where its music began, its end
    section = 0  # where this one began
    for n in range(2, len(codes)):
        if sections and sections[n] != sections[n - 1]:
            section = n
        home = homes[n]
        key = _cadence(codes[n - 2], codes[n - 1], codes[n], home % 12)
        if key is None:
            continue
        tonic, mode = _STATES[key]
        start = section if begun < section < ended else begun
        anew = key == last and start > 0 and codes[start] == _TONICS[mode] + tonic
        own = HOME[mode] if key == home else CADENCE
        found[n] = key, CONFIRMED + STAY * (n - start) if anew else own
        if key != last:
            begun = begun if last < 0 else ended + 1
        last, ended = key, n
    return found


def path_of_keys(
    chords: Sequence[Chord], homes: Sequence[Key], sections: Sequence[int] = ()
) -> tuple[list[tuple[int, int]], float]:
    """The key of each chord, as `state_of` says it, and what this path costs.

    `homes` are the written ones; `sections` number the section of each chord, where there are any.
    """
    codes = [12 * quality + root for quality, root in map(heard, chords)]
    views = _views(homes)
    cadences = _cadences(codes, [home for home, _ in views], sections)
    own = own_keys(codes, [home for home, _ in views], sections)
    home, signature = views[0]
    costs = list(_coming(codes[0], home, signature))
    costs[home] = _alone(codes[0])[home]
    steps: list[tuple[list[float], Sequence[float], float, Sequence[float]]] = []
    for n in range(1, len(codes)):
        code, view = codes[n], views[n]
        home, signature = view
        staying: Sequence[float] = _staying(codes[n - 1], code, home)
        coming: Sequence[float] = _coming(code, home, signature)
        if n in cadences:
            key, speaks = cadences[n]
            staying = _cheaper(staying, key, speaks)
        if n in own:
            coming = _cheaper(coming, own[n], SECTION)
        if views[n - 1] != view:  # the written key changes too: to go with it is free
            coming = [*coming[:home], _alone(code)[home], *coming[home + 1 :]]
        least = min(costs)
        steps.append((costs, staying, least, coming))
        costs = [
            stay if (stay := cost + one) <= (come := least + other) else come
            for cost, one, other in zip(costs, staying, coming, strict=True)
        ]
    cheapest = min(costs)
    at = costs.index(cheapest)
    path = [at]
    for reached, staying, least, coming in reversed(steps):
        if reached[at] + staying[at] > least + coming[at]:
            at = reached.index(least)
        path.append(at)
    return [_STATES[at] for at in reversed(path)], cheapest


def _cheaper(costs: Sequence[float], key: int, by: float) -> list[float]:
    return [*costs[:key], costs[key] - by, *costs[key + 1 :]]


def _views(homes: Sequence[Key]) -> list[tuple[int, int]]:
    """The written keys as the path sees them: each one's place in the list, and its signature."""
    found: list[tuple[int, int]] = []
    last = None
    for home in homes:
        if home is not last:
            view, last = (_STATES.index(state_of(home)), home.signature), home
        found.append(view)
    return found
