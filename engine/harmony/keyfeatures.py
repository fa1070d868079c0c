"""What speaks for each key in a progression: its chords, their order, their places and its ends.

Each of the 24 keys gets the same features: how likely these chords and their successions are
in it, how much of the time its tonic sounds, how long at a time and where, how often it is
reached by a cadence.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import log

from engine.chord import Chord
from engine.harmony.keystats import MODES, QUALITIES, KeyStatistics, heard
from engine.harmony.profiles import profile_distance

_MAJOR_LIKE = frozenset(QUALITIES.index(letter) for letter in "M7+S")
_MINOR_LIKE = frozenset(QUALITIES.index(letter) for letter in "mo")
_WITH_THIRD = frozenset(QUALITIES.index(letter) for letter in "Mm7o+")
_QUARTER = 4
_ROUNDS = (2, 3, 4, 6, 8)  # how many chords go round
_MANY_CHORDS, _MANY_STEPS = 8, 16  # from so many on, what they say has its full weight


@dataclass(frozen=True, slots=True)
class Event:
    """A harmony for the key finder. `duration` in whole notes, `bar` counts from 1.

    Its class and root are those that it is heard with.
    """

    chord: Chord
    quality: int
    root: int
    duration: float
    bar: int
    on_downbeat: bool

    @property
    def is_minor(self) -> bool | None:
        """Whether its third is minor; None where it has none."""
        return self.quality in _MINOR_LIKE if self.quality in _WITH_THIRD else None


def events_of(chords: Sequence[tuple[Chord, Fraction, int, bool]]) -> list[Event]:
    """Chords as (chord, duration, bar, on the downbeat); equal neighbours become one event."""
    found: list[Event] = []
    for chord, duration, bar, downbeat in chords:
        quality, root = heard(chord)
        last = found[-1] if found else None
        if last is not None and (last.root, last.quality) == (root, quality):
            found[-1] = replace(last, duration=last.duration + float(duration))
        else:
            found.append(Event(chord, quality, root, float(duration), bar, downbeat))
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
    each_time: list[float]
    rounds: list[float]
    motions: Counter[tuple[int, int, bool]]
    two_five: Counter[int]


def _normal(values: list[float]) -> list[float]:
    total = sum(values) or 1.0
    return [value / total for value in values]


def _shares(events: Sequence[Event]) -> _Shares:
    lists = [[0.0] * 12 for _ in range(9)]
    root, major, minor, bass, opening, close, every4, every8, sounding = lists
    total = sum(event.duration for event in events)
    times = Counter(event.root for event in events)
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
    two_five: Counter[int] = Counter()
    for before, after in pairwise(events):
        if before.root != after.root:
            dominant = before.quality in _MAJOR_LIKE
            motions[after.root, (before.root - after.root) % 12, dominant] += 1
        if _is_two_five(before, after):
            two_five[(before.root - 2) % 12] += 1
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
        each_time=[length / max(1, times[pc]) for pc, length in enumerate(root)],
        rounds=_rounds(events, total),
        motions=motions,
        two_five=two_five,
    )


def _is_two_five(before: Event, after: Event) -> bool:
    """A minor seventh chord, and the dominant seventh a fourth above."""
    up = (after.root - before.root) % 12
    seventh = before.is_minor is True and before.chord.alter(7) == -1
    return seventh and up == 5 and QUALITIES[after.quality] == "7"


def _rounds(events: Sequence[Event], total: float) -> list[float]:
    """By pitch class, the share of time of chords that go round and round from that root on."""
    roots = [event.root for event in events]
    found = [0.0] * 12
    n = 0
    while n < len(roots) - 3:
        size = next((p for p in _ROUNDS if roots[n : n + p] == roots[n + p : n + 2 * p]), 0)
        end = n + max(1, size)
        while size and roots[n : n + size] == roots[end : end + size]:
            end += size
        if size:
            found[roots[n]] += sum(event.duration for event in events[n:end]) / total
        n = end
    return found


def features(
    events: Sequence[Event], known: KeyStatistics
) -> dict[tuple[int, int], dict[str, float]]:
    """For each (tonic pitch class, mode index) the features of that key."""
    shares = _shares(events)
    total = sum(event.duration for event in events)
    steps = max(1, len(events) - 1)
    mean = total / len(events)
    much = min(1.0, steps / _MANY_STEPS)
    many = min(1.0, len({(one.root, one.quality) for one in events}) / _MANY_CHORDS)
    early = {event.root for event in events[:2]}
    modes: dict[int, bool] = {}
    for event in events:
        if event.is_minor is not None:
            modes.setdefault(event.root, event.is_minor)
    codes = [(12 * event.quality, event.root, event.duration / total) for event in events]
    found = {}
    for mode, name in enumerate(MODES):
        alone, after = known.alone[mode], known.after[mode]
        own = shares.minor if mode else shares.major
        for tonic in range(12):
            relative = [quality + (root - tonic) % 12 for quality, root, _ in codes]
            dominant = (tonic + 7) % 12
            motions = shares.motions
            likely = sum(
                share * alone[code] for (_, _, share), code in zip(codes, relative, strict=True)
            )
            order = sum(after[one][two] for one, two in pairwise(relative)) / steps
            near = -profile_distance(shares.sounding, tonic, name)
            each_time = shares.each_time[tonic]
            found[tonic, mode] = {
                "chords": likely,
                "successions": order,
                "many_successions": order * much,
                "prior": known.prior[mode],
                "tonic": shares.root[tonic],
                "tonic_chord": own[tonic],
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
                "two_five": shares.two_five[tonic] / steps,
                "dominant_chord": shares.major[dominant],
                "profile": near,
                "profile_of_many": near * many,
                "log_rest": log(each_time / mean) if each_time else 0.0,
                "log_rounds": log(shares.rounds[tonic] + 0.05),
                "early": float(tonic in early),
                "first_third": 0.0 if tonic not in modes else 1.0 if modes[tonic] == mode else -1.0,
            }
    return found
