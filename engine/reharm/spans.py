"""Suggestions for a stretch of bars: the best paths through chords for each place, kept different.

Each place has candidates (what stands there, the key's chords, what the
techniques put for it); a path's score is the sum over places of style, melody
and distance, and over changes of chord of style, voice leading, bass and
resolution. The stretch is searched in several moods, the same model with
other weights, and the answers are chosen for score and for variety.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from engine.chord import Chord
from engine.errors import SongError
from engine.harmony import Reading, read_chord
from engine.key import Key
from engine.reharm.candidates import Option, Step, step_of
from engine.reharm.families import DIMINISHED, DOMINANT, class_of, family
from engine.reharm.motion import bass_move, distance
from engine.reharm.proposal import (
    can_lead,
    degree,
    is_diatonic,
)
from engine.reharm.site import site_at
from engine.reharm.style import style
from engine.reharm.value import SpanSuggestion
from engine.reharm.why import path_sentence
from engine.song import SlotKind, Song
from engine.song.melody import melody_notes


@dataclass(frozen=True, slots=True)
class Mood:
    """One set of weights for the same model."""

    name: str
    style: float = 1.0
    bass: float = 0.6  # for each bass held or by step
    fall: float = 0.6  # for each dominant that falls a fifth or a semitone
    outside: float = 0.0  # for a chord outside the key
    change: float = 0.3  # for another chord than stood there
    voices: float = 0.08  # off for each semitone


MOODS = (
    Mood("near", change=-0.5, outside=-0.6),
    Mood("usual", style=1.5, change=0.9),
    Mood("stepwise bass", bass=2.4, style=0.6, change=0.5),
    Mood("falling fifths", fall=2.6, style=0.5, change=0.5, outside=0.2),
    Mood("borrowed", outside=1.6, style=0.6, change=0.5, fall=0.2),
)
_WIDTH = 3  # partial paths kept for each chord of a place
_UNRESOLVED = 2.0  # off for a chromatic dominant or diminished chord that leads nowhere
_ROCKING = 0.8  # off for going back to the chord before the last
_LIKE = 2.0  # off for a path wholly like one listed


_Path = tuple[float, tuple[Option, ...]]


def suggest_span(
    song: Song,
    reading: Reading | None,
    first_bar: int,
    last_bar: int,
    count: int = 5,
    *,
    dial: float = 0.5,
) -> tuple[SpanSuggestion, ...]:
    """Other chords for bars `first_bar` to `last_bar`, best first, unlike one another.

    Places where nothing sounds stay silent; one where every chord rubs with the melody stays
    as it is. `dial` is how far to go, 0 near to 1 far. Raises SongError for bars that aren't
    there or in which no chord may stand.
    """
    if first_bar > last_bar:
        first_bar, last_bar = last_bar, first_bar
    melody = melody_notes(song)
    if not 1 <= first_bar <= last_bar <= len(song.bars):
        raise SongError(
            f"there are no bars {first_bar} to {last_bar}",
            f"bars are numbered from 1 to {len(song.bars)}",
        )
    sites = [
        site_at(song, reading, bar.number, slot)
        for bar in song.bars[first_bar - 1 : last_bar]
        for slot, each in enumerate(bar.slots)
        if each.kind is not SlotKind.NONE
    ]
    if not sites:
        raise SongError(
            f"bars {first_bar} to {last_bar} are silent", "name bars with a chord or ? in them"
        )
    steps = [
        step
        for at, site in enumerate(sites)
        if (step := step_of(site, melody, dial, first=at == 0))
    ]
    if not steps:
        raise SongError(
            f"no chord is free of a semitone against the melody in bars {first_bar} to {last_bar}",
            "write a chord there, or shorten the melody's held notes",
        )
    found = []
    for mood in MOODS:
        best = _paths(steps, mood)
        top = best[0][0] if best else 0.0
        found += [(score - top, mood, path) for score, path in best]
    return tuple(
        _made(steps, score, mood, path, (first_bar, last_bar))
        for score, mood, path in _various(found, count)
    )


def _paths(steps: Sequence[Step], mood: Mood) -> list[_Path]:
    """The best paths of one mood, best first; those that change nothing are left out."""
    before, after = steps[0].site.before, steps[-1].site.after
    front: list[list[_Path]] = []
    for at, step in enumerate(steps):
        key = step.site.key
        new: list[list[_Path]] = []
        for option in step.options:
            own = _own(option, mood)
            if at == 0:
                start = own if before is None else own + _change(before, option.chord, key, mood)
                new.append([(start, (option,))])
                continue
            reached: list[_Path] = [
                (score + own + move - _ROCKING * _rocks(path, option), path)
                for paths in front
                for move in (_change(paths[0][1][-1].chord, option.chord, key, mood),)
                for score, path in paths
            ]
            best = heapq.nlargest(_WIDTH, reached, key=lambda each: each[0])
            new.append([(score, (*path, option)) for score, path in best])
        front = new
    key = steps[-1].site.key
    ended = [
        (score + (0.0 if after is None else _change(path[-1].chord, after, key, mood)), path)
        for paths in front
        for score, path in paths
        if any(option.new for option in path)
    ]
    return heapq.nlargest(12, ended, key=lambda each: each[0])


def _rocks(path: tuple[Option, ...], option: Option) -> bool:
    """Whether a new chord goes back to the one before the last."""
    return option.new > 0 and len(path) > 1 and path[-2].chord.root.pc == option.chord.root.pc


def _own(option: Option, mood: Mood) -> float:
    return option.alone + mood.change * option.new + mood.outside * option.outside


@lru_cache(maxsize=1 << 16)
def _change(first: Chord, second: Chord, key: Key, mood: Mood) -> float:
    """What a change from one chord to the next is worth."""
    a, b = class_of(first, key), class_of(second, key)
    worth = mood.style * 0.5 * math.log(float(style()[0].after[int(key.is_minor), a, b]))
    if a == b:
        worth -= 1.0
    worth -= mood.voices * distance(first, second)
    move = abs(bass_move(first, second))
    worth += mood.bass * (1.0 if 0 < move <= 2 else 0.3 if move in (0, 5) else -0.3)
    falls = (second.root.pc - first.root.pc) % 12 in (5, 11)
    rises = (second.root.pc - first.root.pc) % 12 == 1
    kind = family(first)
    if can_lead(first) and falls and (kind == DOMINANT or degree(first, key) == 7):
        worth += mood.fall
    elif not is_diatonic(first, key) and (
        (kind == DOMINANT and not falls) or (kind == DIMINISHED and not rises)
    ):
        worth -= _UNRESOLVED
    return worth


_Found = tuple[float, Mood, tuple[Option, ...]]


def _various(found: Sequence[_Found], count: int) -> Iterator[_Found]:
    """By score against their mood's best, each held back by its likeness to those listed."""
    left = list(found)
    listed: list[_Found] = []
    while left and len(listed) < count:
        best = max(left, key=lambda each: each[0] - _LIKE * _nearest(each, listed))
        score = best[0] - _LIKE * _nearest(best, listed)
        left = [each for each in left if _nearest(each, [best]) < 1.0]
        listed.append(best)
        yield score, best[1], best[2]


def _nearest(one: _Found, listed: Sequence[_Found]) -> float:
    """The largest share of places in which a path agrees with one of those listed."""
    return max(
        (
            sum(a.chord == b.chord for a, b in zip(one[2], other[2], strict=True)) / len(one[2])
            for other in listed
        ),
        default=0.0,
    )


def _made(
    steps: Sequence[Step], score: float, mood: Mood, path: Sequence[Option], bars: tuple[int, int]
) -> SpanSuggestion:
    chords = [option.chord for option in path]
    line = [steps[0].site.before, *chords, steps[-1].site.after]
    readings = [
        read_chord(chord, step.site.key, line[at], line[at + 2])
        for at, (chord, step) in enumerate(zip(chords, steps, strict=True))
    ]
    places = tuple(
        (step.site.bar.number, step.site.slot or 0, chord)
        for step, chord in zip(steps, chords, strict=True)
    )
    found = {(bar, slot): chord for bar, slot, chord in places}
    written, shown = [], []
    for bar in steps[0].site.song.bars[bars[0] - 1 : bars[1]]:
        there = [found.get((bar.number, at)) for at in range(len(bar.slots))]
        typed = ["?" if slot.kind is SlotKind.OPEN else "N.C." for slot in bar.slots]
        pairs = list(zip(there, typed, strict=True))
        written.append(" ".join(chord.symbol if chord else sign for chord, sign in pairs))
        shown.append(" ".join(chord.pretty if chord else sign for chord, sign in pairs))
    return SpanSuggestion(
        first_bar=bars[0],
        last_bar=bars[1],
        places=places,
        name=mood.name,
        symbol=" | ".join(written),
        roman=" ".join(reading.roman for reading in readings),
        score=score,
        why=path_sentence([step.site for step in steps], readings),
        key=steps[0].site.key,
        changed=sum(option.new > 0 for option in path),
        pretty=" | ".join(shown),
    )
