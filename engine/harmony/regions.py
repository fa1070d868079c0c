"""Where a song is in which key: the stretches of its keys, and how it comes there."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from engine.chord import Chord
from engine.harmony.borders import own_numeral, pivot_at, settled
from engine.harmony.keyfeatures import Event, events_of
from engine.harmony.keypath import path_of_keys, state_of
from engine.harmony.keys import centre_of, key_shares, spelled_key
from engine.harmony.keystats import MODES
from engine.harmony.numeral import display_numeral
from engine.harmony.value import KeyFinding, Region
from engine.key import Key
from engine.song import Bar, Song

_OPENING = 8  # bars
_BEGINS = 3.0  # what it speaks for a key that the song begins in it


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
    return _keys(places, homes)


def _keys(places: Sequence[Sounding], homes: Sequence[Key]) -> list[Key]:
    """The key of each chord; `homes` are the written ones, which keep their spelling."""
    chords = [place.chord for place in places]
    keys = list(homes)
    sections = [place.bar.section for place in places]
    path, _ = path_of_keys(chords, homes, sections)
    for (tonic, mode), stretch in groupby(range(len(path)), key=lambda n: path[n]):
        away = [n for n in stretch if (tonic, mode) != state_of(homes[n])]
        if away:
            centre = centre_of(_events([places[n] for n in away]))
            for n in away:
                keys[n] = spelled_key(tonic, MODES[mode], centre)
    return settled(chords, keys, homes, sections)


def regions_of(song: Song, places: Sequence[Sounding], keys: Sequence[Key]) -> tuple[Region, ...]:
    """The stretches of bars in one key; a bar belongs to the key of its first chord."""
    by_bar: dict[int, Key] = {}
    for place, key in zip(places, keys, strict=True):
        by_bar.setdefault(place.bar.number, key)
    chords = [place.chord for place in places]
    found: list[Region] = []
    current = keys[0] if keys else song.key
    for bar in song.bars:
        current = by_bar.get(bar.number, current)
        if found and found[-1].key == current:
            last = found[-1]
            found[-1] = Region(last.first, bar.number, current, last.how)
        else:
            at = _first_in(places, bar.number)
            while at and keys[at - 1] == current:
                at -= 1
            how = _how(found[-1].key, current, chords, keys, at) if found else ""
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


def _how(old: Key, new: Key, chords: Sequence[Chord], keys: Sequence[Key], at: int) -> str:
    """`up a step`, `to the relative minor`, and the pivot chord where there is one."""
    up = (new.tonic.pc - old.tonic.pc) % 12
    changed = old.is_minor != new.is_minor
    text = _RELATIONS.get((up, changed)) or f"to {new.symbol}"
    pivot = _pivot(old, new, chords, keys, at)
    return f"{text}, by way of {pivot}" if pivot else text


def _pivot(old: Key, new: Key, chords: Sequence[Chord], keys: Sequence[Key], first: int) -> str:
    """The chord that belongs to both keys, if the old one is left by such: `Am (vi = ii)`."""
    at = pivot_at(chords, old, new, keys, first)
    if at is None:
        return ""
    numerals = [display_numeral(own_numeral(chords[at], key) or "") for key in (old, new)]
    return f"{chords[at].pretty} ({' = '.join(numerals)})"


def _first_in(places: Sequence[Sounding], bar: int) -> int:
    """The first chord of a bar or after it."""
    return bisect_left(places, bar, key=lambda place: place.bar.number)


def find_key(song: Song) -> KeyFinding:
    """The key of a song from its chords alone, with rivals and the regions of its keys.

    A song that modulates is in the key in which it begins.
    """
    places = sounding(song)
    if not places:
        last = song.bars[-1].number if song.bars else 1
        return KeyFinding(song.key, 0.0, (), (Region(1, last, song.key, "", 0.0),))
    ranked = key_shares(_events(places))
    opening = key_shares(_events(_opening(places, ranked[0][0])))
    if _begins_elsewhere(places, ranked[0][0], opening[0][0]):
        ranked = opening
    (home, share), others = ranked[0], ranked[1:4]
    keys = _keys(places, [home] * len(places))
    written = _as_written(home, places, keys)
    if written != home:
        home, keys = written, _keys(places, [written] * len(places))
    regions = tuple(_weighed(region, places, keys) for region in regions_of(song, places, keys))
    return KeyFinding(home, share, tuple(others), regions)


def _opening(places: Sequence[Sounding], home: Key) -> Sequence[Sounding]:
    """The first section; of a song that has but one, its first bars, till it leaves their key."""
    first, last = places[0].bar, places[-1].bar
    if first.section == last.section:
        path, _ = path_of_keys([place.chord for place in places], [home] * len(places))
        left = next((n for n, state in enumerate(path) if state != path[0]), len(places))
        return places[: min(left, _first_in(places, first.number + _OPENING))]
    return [place for place in places if place.bar.section == first.section]


def _begins_elsewhere(places: Sequence[Sounding], key: Key, opening: Key) -> bool:
    """Whether a song goes by keys more readily from that of its opening than from that of all."""
    if state_of(opening) == state_of(key):
        return False
    chords = [place.chord for place in places]
    sections = [place.bar.section for place in places]
    _, cost = path_of_keys(chords, [key] * len(places), sections)
    path, other = path_of_keys(chords, [opening] * len(places), sections)
    return path[0] == state_of(opening) and len(set(path)) > 1 and other < cost + _BEGINS


def _as_written(home: Key, places: Sequence[Sounding], keys: Sequence[Key]) -> Key:
    """The home key spelled as the chords that stand in it, not those of other keys."""
    own = [place for place, key in zip(places, keys, strict=True) if key == home]
    if not own:
        return home
    return spelled_key(home.tonic.pc, home.mode, centre_of(_events(own)))


def _weighed(region: Region, places: Sequence[Sounding], keys: Sequence[Key]) -> Region:
    """The region with its key's share of belief by its own chords alone.

    They may begin within the bar before it.
    """
    inside = range(_first_in(places, region.first - 1), _first_in(places, region.last + 1))
    own = [places[n] for n in inside if keys[n] == region.key]
    if not own:
        return replace(region, confidence=0.0)
    wanted = state_of(region.key)
    share = next(share for key, share in key_shares(_events(own)) if state_of(key) == wanted)
    return replace(region, confidence=share)
