"""The key of a progression from its chords, their order, their places and its two ends.

Each of the 24 keys gets a score: a weighted sum of features (how likely these
chords and their successions are in the key, how much of the time its tonic
sounds and where, how often it is reached by a cadence). The weights come from
annotated songs; shares are softmax values of the scores.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise
from math import exp, log

from engine.chord import Chord
from engine.harmony.keystats import (
    MODES,
    QUALITIES,
    KeyStatistics,
    feature_weights,
    quality_of,
    statistics,
)
from engine.harmony.profiles import profile_distance
from engine.key import Key
from engine.pitch import Note

_MAJOR_LIKE = frozenset(QUALITIES.index(letter) for letter in "M7+S")
_MINOR_LIKE = frozenset(QUALITIES.index(letter) for letter in "mo")
_QUARTER = 4


@dataclass(frozen=True, slots=True)
class Event:
    """A harmony for the key finder. `duration` in whole notes, `bar` counts from 1."""

    chord: Chord
    quality: int
    duration: float
    bar: int
    on_downbeat: bool

    @property
    def root(self) -> int:
        return self.chord.root.pc


def events_of(chords: Sequence[tuple[Chord, Fraction, int, bool]]) -> list[Event]:
    """Chords as (chord, duration, bar, on the downbeat); equal neighbours become one event."""
    found: list[Event] = []
    for chord, duration, bar, downbeat in chords:
        event = Event(chord, quality_of(chord), float(duration), bar, downbeat)
        last = found[-1] if found else None
        if last is not None and (last.root, last.quality) == (event.root, event.quality):
            longer = last.duration + event.duration
            found[-1] = Event(last.chord, last.quality, longer, last.bar, last.on_downbeat)
        else:
            found.append(event)
    return found


@dataclass(frozen=True, slots=True)
class _Shares:
    """What does not depend on the key, worked out once: lists by pitch class."""

    root: list[float]
    major: list[float]
    minor: list[float]
    bass: list[float]
    opening: list[float]
    close: list[float]
    every4: list[float]
    every8: list[float]
    sounding: list[float]
    motions: Counter[tuple[int, int, bool]]


def _normal(values: list[float]) -> list[float]:
    total = sum(values) or 1.0
    return [value / total for value in values]


def _shares(events: Sequence[Event]) -> _Shares:
    lists = [[0.0] * 12 for _ in range(9)]
    root, major, minor, bass, opening, close, every4, every8, sounding = lists
    total = sum(event.duration for event in events)
    at, first = 0.0, events[0].bar
    for event in events:
        pc, length = event.root, event.duration
        root[pc] += length
        bass[event.chord.bass_note.pc] += length
        if event.quality in _MAJOR_LIKE:
            major[pc] += length
        elif event.quality in _MINOR_LIKE:
            minor[pc] += length
        else:
            major[pc] += length / 2
            minor[pc] += length / 2
        if at < total / _QUARTER:
            opening[pc] += length
        if at > total - total / _QUARTER:
            close[pc] += length
        if event.on_downbeat and (event.bar - first) % 4 == 0:
            every4[pc] += 1
            every8[pc] += (event.bar - first) % 8 == 0
        for note in event.chord.pitch_classes:
            sounding[note] += length
        at += length
    motions: Counter[tuple[int, int, bool]] = Counter()
    for before, after in pairwise(events):
        if before.root != after.root:
            dominant = before.quality in _MAJOR_LIKE
            motions[after.root, (before.root - after.root) % 12, dominant] += 1
    return _Shares(
        root=_normal(root),
        major=[value / total for value in major],
        minor=[value / total for value in minor],
        bass=_normal(bass),
        opening=_normal(opening),
        close=_normal(close),
        every4=_normal(every4),
        every8=_normal(every8),
        sounding=sounding,
        motions=motions,
    )


def features(
    events: Sequence[Event], known: KeyStatistics
) -> dict[tuple[int, int], dict[str, float]]:
    """For each (tonic pitch class, mode index) the features of that key."""
    shares = _shares(events)
    total = sum(event.duration for event in events)
    steps = max(1, len(events) - 1)
    codes = [(12 * event.quality, event.root, event.duration / total) for event in events]
    found = {}
    for mode, name in enumerate(MODES):
        alone, after = known.alone[mode], known.after[mode]
        own = shares.minor if mode else shares.major
        for tonic in range(12):
            relative = [quality + (root - tonic) % 12 for quality, root, _ in codes]
            dominant = (tonic + 7) % 12
            motions = shares.motions
            found[tonic, mode] = {
                "chords": sum(
                    share * alone[code] for (_, _, share), code in zip(codes, relative, strict=True)
                ),
                "successions": sum(after[one][two] for one, two in pairwise(relative)) / steps,
                "prior": known.prior[mode],
                "tonic": shares.root[tonic],
                "tonic_chord": own[tonic],
                "tonic_is_longest": float(own[tonic] >= max(*shares.major, *shares.minor)),
                "log_tonic": log(shares.root[tonic] + 0.03),
                "log_tonic_chord": log(own[tonic] + 0.03),
                "log_opening": log(shares.opening[tonic] + 0.03),
                "log_close": log(shares.close[tonic] + 0.03),
                "bass": shares.bass[tonic],
                "log_every4": log(shares.every4[tonic] + 0.03),
                "log_every8": log(shares.every8[tonic] + 0.05),
                "begins": float(events[0].root == tonic),
                "ends": float(events[-1].root == tonic),
                "authentic": motions[tonic, 7, True] / steps,
                "plagal": (motions[tonic, 5, True] + motions[tonic, 5, False]) / steps,
                "subtonic": motions[tonic, 10, True] / steps,
                "dominant_chord": shares.major[dominant],
                "profile": -profile_distance(shares.sounding, tonic, name),
            }
    return found


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
