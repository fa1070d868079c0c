"""When the signs of a bar sound: shared bars, beats and dots, beats divided in brackets."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from itertools import accumulate, groupby, pairwise
from typing import NamedTuple

from engine.meter import Meter


class Sign(NamedTuple):
    """A word of a bar as far as time goes: whether it is a dot, and its bracket (-1 for none)."""

    dot: bool
    group: int


class Time(NamedTuple):
    """What a word begins: where it stands in the bar, onset and duration in whole notes."""

    at: int
    onset: Fraction
    duration: Fraction


def by_beats(signs: tuple[Sign, ...]) -> bool:
    """Whether every sign, or bracket, is one beat."""
    return any(sign.dot or sign.group >= 0 for sign in signs)


def beats_of(signs: tuple[Sign, ...]) -> list[list[int]]:
    """The indices of the signs in each beat: one sign, or those of a bracket."""
    keys = [(sign.group, -1 if sign.group >= 0 else index) for index, sign in enumerate(signs)]
    return [list(beat) for _, beat in groupby(range(len(signs)), key=lambda index: keys[index])]


def most_chords(meter: Meter) -> int:
    """How many chords may share a bar: one a unit of the meter, or a quarter note."""
    return max(meter.count, int(meter.bar * 4))


@lru_cache(maxsize=4096)
def times(signs: tuple[Sign, ...], meter: Meter) -> tuple[Time, ...] | None:
    """The times of a bar's signs, or None where they don't fill the meter exactly."""
    if not by_beats(signs):
        if len(signs) > most_chords(meter):
            return None
        lengths = shares(len(signs), meter)
        onsets = accumulate(lengths[:-1], initial=Fraction(0))
        return tuple(map(Time, range(len(signs)), onsets, lengths))
    beats = beats_of(signs)
    if len(beats) != meter.beats or signs[0].dot:
        return None
    found: list[Time] = []
    for number, beat in enumerate(beats):
        part = meter.beat / len(beat)
        for place, index in enumerate(beat):
            if signs[index].dot:
                found[-1] = found[-1]._replace(duration=found[-1].duration + part)
            else:
                found.append(Time(index, number * meter.beat + place * part, part))
    return tuple(found)


@lru_cache(maxsize=512)
def shares(count: int, meter: Meter) -> tuple[Fraction, ...]:
    """The lengths of `count` chords that share a bar, at most one for each pulse.

    Equal, but by the beat groups where they are uneven: in 7/8, 2+2+3, two
    chords take 2+2 and 3, whole groups, as even as they come.
    """
    groups = meter.group_lengths
    equal = meter.bar / count
    if count > len(groups) or len(set(groups)) == 1:
        return (equal,) * count
    ends = list(accumulate(groups))
    cuts, taken = [Fraction(0)], 0
    for index in range(1, count):
        open_ends = ends[taken : len(ends) - (count - index)]
        distances = [abs(end - index * equal) for end in open_ends]
        taken += distances.index(min(distances)) + 1
        cuts.append(ends[taken - 1])
    cuts.append(meter.bar)
    return tuple(after - before for before, after in pairwise(cuts))
