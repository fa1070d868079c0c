"""Reports what steering changes: takes against each other, and each amount from 0 to 1.

    python -m tests.evaluate.arrange_steering [SONGS]

The songs' chords are the McGill Billboard annotations. For takes it prints the share of a take's
notes (hand, place and pitch) that another take has not, and the share of bars that differ; for
each amount what it steers, summed over the songs, and in how many songs it falls at a step. Then
for each of the keys, pressed three times at the usual amounts, in how many songs what it steers
goes its way and in how many nothing is heard; and whether a kept bar, every fifth, ever plays
another note.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable
from itertools import combinations, pairwise
from statistics import mean

from engine.arrange import arrange, changed_bars, keep_bar
from engine.harmony import analyse
from engine.meter import Meter
from engine.part import Part, Role
from engine.song import SONG, Settings, Song, set_bar_option, set_setting
from tests.evaluate.arrange_songs import all_songs

TAKES = (1, 2, 3, 4, 5)
STEPS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
USUAL = Settings(
    meter=Meter.parse("4/4"), tempo=76, busy=0.4, outside=0.3, doubling=0.3, anticipation=0.2
)
#: What each amount steers.
STEERED: dict[str, Callable[[Part], int]] = {
    "busy": lambda part: len(part.notes),
    "outside": lambda part: sum(
        note.role.outside and note.role is not Role.ANTICIPATION for note in part.notes
    ),
    "doubling": lambda part: sum(note.role is Role.DOUBLING for note in part.notes),
    "anticipation": lambda part: sum(note.role is Role.ANTICIPATION for note in part.notes),
}


def _keys(part: Part) -> set[tuple[object, ...]]:
    return {(note.hand, note.onset, note.pitch.midi) for note in part.notes}


def takes(count: int) -> None:
    notes: list[float] = []
    bars: list[float] = []
    for song in all_songs(Settings(meter=Meter.parse("4/4"), tempo=76), count=count):
        reading = analyse(song)
        parts = [arrange(song, reading, take=take) for take in TAKES]
        for one, other in combinations(parts, 2):
            a, b = _keys(one), _keys(other)
            notes.append(1 - len(a & b) / max(len(a), len(b)))
            bars.append(len(changed_bars(one, other)) / len(song.bars))
    print(
        f"takes {TAKES}, in pairs: {mean(notes):.1%} of the notes differ (least {min(notes):.1%}), "
        f"{mean(bars):.1%} of the bars (least {min(bars):.1%})"
    )


def amounts(count: int) -> None:
    for name, counted in STEERED.items():
        rows: list[list[int]] = []
        for step in STEPS:
            row = []
            for usual in all_songs(USUAL, count=count):
                song = set_setting(usual, SONG, name, step)
                row.append(counted(arrange(song, analyse(song))))
            rows.append(row)
        sums = [sum(row) for row in rows]
        falls = sum(any(a > b for a, b in pairwise(song)) for song in zip(*rows, strict=True))
        print(f"{name}: {sums}; falls somewhere in {falls} of {len(rows[0])} songs")


#: Each key: the amount it turns, and its step.
KEYS = {
    "busier": ("busy", 0.1),
    "calmer": ("busy", -0.1),
    "further out": ("outside", 0.1),
    "closer in": ("outside", -0.1),
}
PRESSED = 3


def _turned(song: Song, name: str, by: float) -> Song:
    here = getattr(song.settings, name)
    return set_setting(song, SONG, name, round(min(1.0, max(0.0, here + by)), 2))


def _notes(part: Part, bar: int) -> list[tuple[object, ...]]:
    return [
        (n.hand, n.onset, n.duration, n.pitch, n.role, n.velocity)
        for n in part.notes
        if n.bar == bar
    ]


def keys(count: int) -> None:
    """What each key does, and that kept bars stay."""
    went: Counter[str] = Counter()
    silent: Counter[str] = Counter()
    bars: Counter[str] = Counter()
    kept_bars = broken = songs = 0
    for song in all_songs(USUAL, count=count):
        songs += 1
        part = arrange(song, analyse(song))
        held = song
        kept = range(1, len(song.bars) + 1, 5)
        for number in kept:
            held = set_bar_option(held, number, "keep", keep_bar(song, part, number))
        for key, (name, step) in KEYS.items():
            counted = STEERED[name]
            before = part
            for press in range(1, PRESSED + 1):
                turned = _turned(song, name, press * step)
                after = arrange(turned, analyse(turned))
                changed = changed_bars(before, after)
                silent[key] += not changed
                bars[key] += len(changed)
                went[key] += (counted(after) - counted(before)) * step > 0
                before = after
            other = _turned(held, name, PRESSED * step)
            there = arrange(other, analyse(other))
            broken += sum(_notes(part, bar) != _notes(there, bar) for bar in kept)
            kept_bars += len(kept)
        there = arrange(held, analyse(held), take=2)
        broken += sum(_notes(part, bar) != _notes(there, bar) for bar in kept)
        kept_bars += len(kept)
    for key in KEYS:
        presses = songs * PRESSED
        print(
            f"{key}: {went[key]} of {presses} presses go its way, {silent[key]} change nothing, "
            f"{bars[key] / presses:.1f} bars change at a press"
        )
    print(f"kept bars that changed: {broken} of {kept_bars}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("songs", type=int, nargs="?", default=50)
    wanted_songs = parser.parse_args().songs
    takes(wanted_songs)
    amounts(wanted_songs)
    keys(wanted_songs)
