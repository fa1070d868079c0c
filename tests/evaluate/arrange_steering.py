"""Reports what steering changes: takes against each other, and each amount from 0 to 1.

    python -m tests.evaluate.arrange_steering [SONGS]

The songs' chords are the McGill Billboard annotations. For takes it prints the share of a take's
notes (hand, place and pitch) that another take has not, and the share of bars that differ; for
each amount what it steers, summed over the songs, and in how many songs it falls at a step.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from itertools import combinations, pairwise
from statistics import mean

from engine.arrange import arrange, changed_bars
from engine.harmony import analyse
from engine.meter import Meter
from engine.part import Part, Role
from engine.song import SONG, Settings, set_setting
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


if __name__ == "__main__":
    wanted_songs = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    takes(wanted_songs)
    amounts(wanted_songs)
