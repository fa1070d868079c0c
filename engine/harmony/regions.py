"""Where a song is in which key: a path through the keys, and its stretches.

Each chord is likelier in some keys than in others; to change key costs. The
cheapest path (Viterbi) stays in the written key unless the chords leave it for
long enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from engine.chord import Chord
from engine.harmony.context import relative
from engine.harmony.keys import Event, events_of, key_shares, spelled_key
from engine.harmony.keystats import MODES, quality_of, statistics
from engine.harmony.numeral import display_numeral
from engine.harmony.value import KeyFinding, Region
from engine.harmony.ways import candidates
from engine.harmony.words import Category
from engine.key import Key
from engine.song import Bar, Song

# In nats of the likelihoods; tuned on annotated songs that modulate and that do not.
LEAVE = 8.0
RETURN = 5.0
STAY = 0.5  # for each chord outside the written key
FAR = 1.0  # more for keys with few common notes


@dataclass(frozen=True, slots=True)
class Sounding:
    """A chord in its place."""

    bar: Bar
    slot: int
    chord: Chord
    onset: Fraction
    duration: Fraction


def sounding(song: Song) -> list[Sounding]:
    """All chords of a song in order."""
    return [
        Sounding(bar, at, slot.chord, slot.onset, slot.duration)
        for bar in song.bars
        for at, slot in enumerate(bar.slots)
        if slot.chord is not None
    ]


def _events(places: Sequence[Sounding]) -> list[Event]:
    return events_of(
        [(place.chord, place.duration, place.bar.number, place.onset == 0) for place in places]
    )


def key_path(places: Sequence[Sounding]) -> list[Key]:
    """The key of each chord, given the keys written in the song."""
    homes = [place.bar.key for place in places]
    if not places:
        return []
    path = _path([place.chord for place in places], homes)
    spelled: dict[tuple[int, int], Key] = {}
    keys = []
    for home, (tonic, mode) in zip(homes, path, strict=True):
        if (tonic, mode) == _state(home):
            keys.append(home)
            continue
        if (tonic, mode) not in spelled:
            spelled[tonic, mode] = spelled_key(tonic, MODES[mode], _events(places))
        keys.append(spelled[tonic, mode])
    return keys


def _state(key: Key) -> tuple[int, int]:
    return key.tonic.pc, int(key.is_minor)


def _entering(state: tuple[int, int], home: Key) -> float:
    """What it costs to change into a key, seen from the written one."""
    tonic, mode = state
    if state == _state(home):
        return RETURN
    signature = _signature(tonic, mode)
    away = abs((signature - home.signature + 6) % 12 - 6)
    return LEAVE + FAR * max(0, away - 2) / 2


def _signature(tonic: int, mode: int) -> int:
    return (tonic * 7 % 12) - (3 if mode else 0)


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
    return tuple([0.0 if state == _state(home) else STAY for state in _STATES])


def _path(chords: Sequence[Chord], homes: Sequence[Key]) -> list[tuple[int, int]]:
    codes = [(12 * quality_of(chord), chord.root.pc) for chord in chords]
    at_home = _STATES.index(_state(homes[0]))
    first = list(_changing(codes[0], homes[0]))
    first[at_home] = _alone(codes[0])[at_home]
    costs = [one + away for one, away in zip(first, _outside(homes[0]), strict=True)]
    back: list[list[int]] = []
    for n in range(1, len(codes)):
        code, home = codes[n], homes[n]
        least = min(costs)
        cheapest = costs.index(least)
        staying = [
            one + more for one, more in zip(costs, _following(codes[n - 1], code), strict=True)
        ]
        changing = [least + more for more in _changing(code, home)]
        if homes[n - 1] != home:  # the written key changes too: to go with it is free
            here = _STATES.index(_state(home))
            changing[here] = least + _alone(code)[here]
        cheaper = map(min, staying, changing)
        costs = [cost + away for cost, away in zip(cheaper, _outside(home), strict=True)]
        back.append(
            [
                at if stay <= change else cheapest
                for at, (stay, change) in enumerate(zip(staying, changing, strict=True))
            ]
        )
    at = costs.index(min(costs))
    path = [at]
    for origin in reversed(back):
        at = origin[at]
        path.append(at)
    return [_STATES[at] for at in reversed(path)]


def regions_of(song: Song, places: Sequence[Sounding], keys: Sequence[Key]) -> tuple[Region, ...]:
    """The stretches of bars in one key; a bar belongs to the key of its first chord."""
    by_bar: dict[int, Key] = {}
    for place, key in zip(places, keys, strict=True):
        by_bar.setdefault(place.bar.number, key)
    found: list[Region] = []
    current = keys[0] if keys else song.key
    for bar in song.bars:
        current = by_bar.get(bar.number, current)
        if found and found[-1].key == current:
            last = found[-1]
            found[-1] = Region(last.first, bar.number, current, last.how)
        else:
            how = _how(found[-1].key, current, places, bar.number) if found else ""
            found.append(Region(bar.number, bar.number, current, how))
    return tuple(found)


_RELATIONS = {
    (0, True): "to the parallel key", (9, True): "to the relative minor",
    (3, True): "to the relative major", (7, False): "up a fifth, to the dominant",
    (5, False): "up a fourth, to the subdominant", (1, False): "up a semitone",
    (2, False): "up a step", (10, False): "down a step", (11, False): "down a semitone",
    (3, False): "up a minor third", (4, False): "up a major third",
    (8, False): "down a major third", (9, False): "down a minor third",
    (6, False): "a tritone away",
}  # fmt: skip


def _how(old: Key, new: Key, places: Sequence[Sounding], bar: int) -> str:
    """`up a step`, `to the relative minor`, and the pivot chord where there is one."""
    up = (new.tonic.pc - old.tonic.pc) % 12
    changed = old.is_minor != new.is_minor
    text = _RELATIONS.get((up, changed)) or f"to {new.symbol}"
    pivot = _pivot(old, new, places, bar)
    return f"{text}, by way of {pivot}" if pivot else text


def _pivot(old: Key, new: Key, places: Sequence[Sounding], bar: int) -> str:
    """The last chord before the old key is left, where it belongs to both: `Am (vi = ii)`.

    The stretch in the new key may begin with chords that the old one has too.
    """
    pivot = None
    for place in places:
        own = _own(place.chord, old) is not None
        if place.bar.number >= bar and not own:
            break
        pivot = place.chord
    numerals = [_own(pivot, key) for key in (old, new)] if pivot is not None else [None]
    if pivot is None or None in numerals:
        return ""
    return f"{pivot.pretty} ({' = '.join(display_numeral(one) for one in numerals if one)})"


def _own(chord: Chord, key: Key) -> str | None:
    """The numeral of a chord that is a key's own, else None."""
    reading = candidates(relative(chord, key.tonic), key.is_minor)[0]
    return reading.roman if reading.category is Category.DIATONIC else None


def find_key(song: Song) -> KeyFinding:
    """The key of a song from its chords alone, with rivals and the regions of its keys."""
    places = sounding(song)
    if not places:
        last = song.bars[-1].number if song.bars else 1
        return KeyFinding(song.key, 0.0, (), (Region(1, last, song.key, "", 0.0),))
    events = _events(places)
    ranked = key_shares(events)
    (home, share), others = ranked[0], ranked[1:4]
    path = _path([place.chord for place in places], [home] * len(places))
    spelled = {(home.tonic.pc, int(home.is_minor)): home}
    keys = [
        spelled.setdefault(state, spelled_key(state[0], MODES[state[1]], events)) for state in path
    ]
    regions = tuple(_weighed(region, places, keys) for region in regions_of(song, places, keys))
    return KeyFinding(home, share, tuple(others), regions)


def _weighed(region: Region, places: Sequence[Sounding], keys: Sequence[Key]) -> Region:
    """The region with its key's share of belief by its own chords alone.

    They may begin within the bar before it.
    """
    bars = range(region.first - 1, region.last + 1)
    own = [
        place
        for place, key in zip(places, keys, strict=True)
        if key == region.key and place.bar.number in bars
    ]
    if not own:
        return replace(region, confidence=0.0)
    wanted = _state(region.key)
    share = next(share for key, share in key_shares(_events(own)) if _state(key) == wanted)
    return replace(region, confidence=share)
