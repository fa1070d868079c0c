"""The path through the keys: which key each chord of a song is heard in.

Each chord is likelier in some keys than in others; to change key costs, and a
full cadence speaks for its key. The cheapest path (Viterbi) stays in the
written key unless the chords leave it for long enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from operator import add, le

from engine.chord import Chord
from engine.harmony.keystats import MODES, QUALITIES, quality_of, statistics
from engine.key import Key

# In nats of the likelihoods; tuned on annotated songs that modulate and that do not.
LEAVE = 8.5
RETURN = 5.0
STAY = 0.5  # for each chord outside the written key
FAR = 1.0  # more for keys with few common notes
CADENCE = 2.0  # what a full cadence in a key speaks for being in it
HOME = 5.0, 8.0  # … in the written key, major and minor: it is not left within a phrase
CONFIRMED = 12.0  # and a second one, where on its tonic the music began anew


def state_of(key: Key) -> tuple[int, int]:
    """A key as the path knows it: its tonic's pitch class, and 1 where it is minor."""
    return key.tonic.pc, int(key.is_minor)


def _entering(state: tuple[int, int], home: Key) -> float:
    """What it costs to change into a key, seen from the written one."""
    tonic, mode = state
    if state == state_of(home):
        return RETURN
    signature = _signature(tonic, mode)
    away = abs((signature - home.signature + 6) % 12 - 6)
    return LEAVE + FAR * max(0, away - 2) / 2


def _signature(tonic: int, mode: int) -> int:
    return (tonic * 7 % 12) - (3 if mode else 0)


_TONICS = [12 * QUALITIES.index(letter) for letter in "Mm"]
_SECONDS = [12 * QUALITIES.index(letter) for letter in "mo7"]
_SEVENTH = 12 * QUALITIES.index("7")
_STATES = [(tonic, mode) for mode in range(len(MODES)) for tonic in range(12)]
Code = tuple[int, int]  # quality times 12, and the root's pitch class


@lru_cache(maxsize=256)
def _alone(code: Code) -> tuple[float, ...]:
    """What a chord costs in each key."""
    quality, root = code
    alone = statistics().alone
    return tuple([-alone[mode][quality + (root - tonic) % 12] for tonic, mode in _STATES])


@lru_cache(maxsize=8192)
def _following(before: Code, code: Code) -> tuple[float, ...]:
    """What a chord costs in each key after another; struck again it costs nothing."""
    if before == code:
        return (0.0,) * len(_STATES)
    after = statistics().after
    return tuple(
        [
            -after[mode][before[0] + (before[1] - tonic) % 12][code[0] + (code[1] - tonic) % 12]
            for tonic, mode in _STATES
        ]
    )


@lru_cache(maxsize=1024)
def _changing(code: Code, home: Key) -> tuple[float, ...]:
    """What it costs to come into each key with a chord."""
    alone = _alone(code)
    return tuple([cost + _entering(one, home) for cost, one in zip(alone, _STATES, strict=True)])


@lru_cache(maxsize=256)
def _outside(home: Key) -> tuple[float, ...]:
    """What each chord costs in each key for not being in the written one."""
    return tuple([0.0 if state == state_of(home) else STAY for state in _STATES])


@lru_cache(maxsize=8192)
def _cadence(prepared: Code, dominant: Code, tonic: Code, home: Key) -> int | None:
    """The key, as a place in the list of all, in which three chords are a full cadence.

    That is ii or IV, V and I; the written key's own tonic is a V only where it has a seventh.
    """
    if (dominant[1] - tonic[1]) % 12 != 7 or tonic[0] not in _TONICS:
        return None
    if dominant[0] != _SEVENTH and (dominant[0] != _TONICS[0] or dominant[1] == home.tonic.pc):
        return None
    quality, above = prepared[0], (prepared[1] - tonic[1]) % 12
    if not (above == 2 and quality in _SECONDS) and not (above == 5 and quality in _TONICS):
        return None
    return _STATES.index((tonic[1], _TONICS.index(tonic[0])))


def _cadences(codes: Sequence[Code], homes: Sequence[Key]) -> dict[int, tuple[int, float]]:
    """By the chord it ends on: the key of each full cadence, and what it speaks for that key."""
    found: dict[int, tuple[int, float]] = {}
    last, begun, ended = -1, 0, 0  # the last cadence's key, where its music began, its end
    for n in range(2, len(codes)):
        key = _cadence(codes[n - 2], codes[n - 1], codes[n], homes[n])
        if key is None:
            continue
        tonic, mode = _STATES[key]
        anew = key == last and begun > 0 and codes[begun] == (_TONICS[mode], tonic)
        own = HOME[mode] if _STATES[key] == state_of(homes[n]) else CADENCE
        found[n] = key, CONFIRMED + STAY * (n - begun) if anew else own
        if key != last:
            begun = begun if last < 0 else ended + 1
        last, ended = key, n
    return found


def path_of_keys(chords: Sequence[Chord], homes: Sequence[Key]) -> list[tuple[int, int]]:
    """The key of each chord, as `state_of` says it; `homes` are the written ones."""
    codes = [(12 * quality_of(chord), chord.root.pc) for chord in chords]
    cadences = _cadences(codes, homes)
    at_home = _STATES.index(state_of(homes[0]))
    first = list(_changing(codes[0], homes[0]))
    first[at_home] = _alone(codes[0])[at_home]
    costs = [one + away for one, away in zip(first, _outside(homes[0]), strict=True)]
    back: list[tuple[tuple[bool, ...], int]] = []  # whether a key stayed, and where else from
    for n in range(1, len(codes)):
        code, home = codes[n], homes[n]
        least = min(costs)
        cheapest = costs.index(least)
        staying = list(map(add, costs, _following(codes[n - 1], code)))
        if n in cadences:
            key, speaks = cadences[n]
            staying[key] -= speaks
        changing = [least + more for more in _changing(code, home)]
        if homes[n - 1] != home:  # the written key changes too: to go with it is free
            here = _STATES.index(state_of(home))
            changing[here] = least + _alone(code)[here]
        costs = list(map(add, map(min, staying, changing), _outside(home)))
        back.append((tuple(map(le, staying, changing)), cheapest))
    at = costs.index(min(costs))
    path = [at]
    for stayed, cheapest in reversed(back):
        at = at if stayed[at] else cheapest
        path.append(at)
    return [_STATES[at] for at in reversed(path)]
