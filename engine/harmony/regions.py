"""Where a song is in which key: the stretches of its keys, and how it comes there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from engine.chord import Chord
from engine.harmony.borders import own_numeral, settled
from engine.harmony.keypath import path_of_keys, state_of
from engine.harmony.keys import Event, events_of, key_shares, spelled_key
from engine.harmony.keystats import MODES
from engine.harmony.numeral import display_numeral
from engine.harmony.value import KeyFinding, Region
from engine.key import Key
from engine.song import Bar, Song


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
    path = path_of_keys([place.chord for place in places], homes)
    spelled: dict[tuple[int, int], Key] = {}
    keys = []
    for home, (tonic, mode) in zip(homes, path, strict=True):
        if (tonic, mode) == state_of(home):
            keys.append(home)
            continue
        if (tonic, mode) not in spelled:
            spelled[tonic, mode] = spelled_key(tonic, MODES[mode], _events(places))
        keys.append(spelled[tonic, mode])
    return _settled(places, keys, homes)


def _settled(places: Sequence[Sounding], keys: Sequence[Key], homes: Sequence[Key]) -> list[Key]:
    sections = [place.bar.section for place in places]
    return settled([place.chord for place in places], keys, homes, sections)


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
        own = own_numeral(place.chord, old) is not None
        if place.bar.number >= bar and not own:
            break
        pivot = place.chord
    numerals = [own_numeral(pivot, key) for key in (old, new)] if pivot is not None else [None]
    if pivot is None or None in numerals:
        return ""
    return f"{pivot.pretty} ({' = '.join(display_numeral(one) for one in numerals if one)})"


def find_key(song: Song) -> KeyFinding:
    """The key of a song from its chords alone, with rivals and the regions of its keys."""
    places = sounding(song)
    if not places:
        last = song.bars[-1].number if song.bars else 1
        return KeyFinding(song.key, 0.0, (), (Region(1, last, song.key, "", 0.0),))
    events = _events(places)
    ranked = key_shares(events)
    (home, share), others = ranked[0], ranked[1:4]
    path = path_of_keys([place.chord for place in places], [home] * len(places))
    spelled = {(home.tonic.pc, int(home.is_minor)): home}
    keys = [
        spelled.setdefault(state, spelled_key(state[0], MODES[state[1]], events)) for state in path
    ]
    keys = _settled(places, keys, [home] * len(places))
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
    wanted = state_of(region.key)
    share = next(share for key, share in key_shares(_events(own)) if state_of(key) == wanted)
    return replace(region, confidence=share)
