"""Reports what the arranger's parts look like beside human pop piano.

    python -m tests.evaluate.arrange_report [SONGS]

The percentiles are those of POP909's 909 piano parts (measured); the songs' chords are the McGill
Billboard annotations. For each count it says how many songs lie between the 5th and the 95th
percentile, and the median; then how far the right hand moves at chord changes against the least
possible, and which rules found something.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import pairwise
from math import log2, sqrt
from statistics import mean, median

from engine.arrange import arrange, check
from engine.arrange.costs import Take
from engine.arrange.ground import spots
from engine.arrange.laid import lay
from engine.arrange.plan import plan
from engine.arrange.register import choose_basses, shape_sets
from engine.hands import ShapeSet, Tones, movement, shapes
from engine.harmony import Reading, analyse
from engine.meter import Meter
from engine.part import Part
from engine.perform import perform
from engine.song import Settings, Song
from tests.evaluate.arrange_songs import all_songs

#: POP909: 5th and 95th percentile (and median) of each count.
HUMAN = {
    "notes per beat": (2.1, 3.4, 4.8),
    "onsets per beat": (1.3, 2.0, 3.2),
    "notes per second": (3.1, 4.2, 6.7),
    "single-note share": (0.38, 0.66, 0.94),
    "pitch": (42, 59, 69),
    "lowest note per beat": (38, 50, 63),
    "velocity": (53, 82, 107),
    "pedal downs per 4 beats": (0, 1.55, 2.3),
    "likeness of neighbouring bars": (0.56, 0.875, 1),
    "pitch-class entropy per 4 beats": (1.4, 2.0, 2.6),
}


def counts(song: Song, part: Part) -> dict[str, float]:
    """The counts of one song, each over the bars in which something sounds."""
    sounding = {note.bar for note in part.notes}
    bars = [bar for bar in song.bars if bar.number in sounding]
    beats = sum(bar.meter.bar / Fraction(1, 4) for bar in bars)
    onsets: dict[Fraction, int] = Counter(note.onset for note in part.notes)
    seconds = float(beats) * 60 / song.tempo
    return {
        "notes per beat": len(part.notes) / float(beats),
        "onsets per beat": len(onsets) / float(beats),
        "notes per second": len(part.notes) / seconds,
        "single-note share": sum(1 for n in onsets.values() if n == 1) / len(onsets),
        "pitch": mean(note.pitch.midi for note in part.notes),
        "lowest note per beat": _lowest(part),
        "velocity": mean(note.velocity for note in perform(part, song).notes),
        "pedal downs per 4 beats": 4 * sum(mark.down for mark in part.pedal) / float(beats),
        "likeness of neighbouring bars": _likeness(song, part),
        "pitch-class entropy per 4 beats": _entropy(part),
    }


def _lowest(part: Part) -> float:
    """The mean of the lowest MIDI number struck in each beat."""
    beats: dict[int, int] = {}
    for note in part.notes:
        beat = int(note.onset * 4)
        beats[beat] = min(note.pitch.midi, beats.get(beat, 127))
    return mean(beats.values())


def _likeness(song: Song, part: Part) -> float:
    """The mean cosine between the onsets of neighbouring bars that both sound."""
    rows: dict[int, set[Fraction]] = defaultdict(set)
    for note in part.notes:
        rows[note.bar].add(note.onset - song.bars[note.bar - 1].start)
    found = [
        len(rows[a.number] & rows[b.number]) / sqrt(len(rows[a.number]) * len(rows[b.number]))
        for a, b in pairwise(song.bars)
        if a.number in rows and b.number in rows and a.meter == b.meter
    ]
    return mean(found) if found else 1.0


def _entropy(part: Part) -> float:
    """The mean entropy in bits of the pitch classes struck in each four beats."""
    windows: dict[int, Counter[int]] = defaultdict(Counter)
    for note in part.notes:
        windows[int(note.onset)][note.pitch.note.pc] += 1
    return mean(
        -sum(n / sum(row.values()) * log2(n / sum(row.values())) for n in row.values())
        for row in windows.values()
    )


def moved(song: Song, reading: Reading, part: Part) -> tuple[int, int, int]:
    """How far the right hand moves from harmony to harmony, the least among the shapes it has to
    choose from in its register there, and the least in wider windows.

    The wider ones reach from the lowest to the highest shape of nine bars.
    """
    places = spots(song, reading)
    tones = {(spot.bar + 1, spot.onset): spot.tones for spot in places if spot.tones}
    rows: list[tuple[tuple[int, ...], Tones, int]] = []
    for shape in part.shapes:
        here = tones[shape.bar, shape.onset - song.bars[shape.bar - 1].start]
        rows.append((tuple(pitch.midi for pitch in shape.pitches), here, shape.bar))
    total = sum(movement(a[0], b[0]) for a, b in pairwise(rows))
    take = Take((1,) * len(song.sections))
    laid, basses = choose_basses(lay(song, places, plan(song, reading), take), take)
    own, _ = shape_sets(laid, basses, song.reach)
    wider = []
    for _, harmony, bar in rows:
        near = [shape for shape, _, other in rows if abs(other - bar) <= 4]
        low, high = min(shape[0] for shape in near), max(shape[-1] for shape in near)
        wider.append(_good(shapes(harmony, low, high, song.reach)))
    return total, _least([_good(stage) for stage in own]), _least(wider)


def _good(stage: ShapeSet) -> list[tuple[int, ...]]:
    """The fullest shapes that double no leading note: an open one may hardly move at all."""
    rows = [s for s, cost in zip(stage.shapes, stage.costs, strict=True) if cost < 100]
    rows = rows or list(stage.shapes)
    full = [len({pitch % 12 for pitch in shape}) for shape in rows]
    return [shape for shape, size in zip(rows, full, strict=True) if size == max(full)]


def _least(stages: list[list[tuple[int, ...]]]) -> int:
    costs = [0] * len(stages[0]) if stages else [0]
    for before, after in pairwise(stages):
        costs = [
            min(cost + movement(a, b) for cost, a in zip(costs, before, strict=True)) for b in after
        ]
    return min(costs)


def report(count: int, say: Callable[[str], None] = print) -> None:
    """Print the counts of so many songs at default amounts in 4/4 at 76."""
    values: dict[str, list[float]] = defaultdict(list)
    ratios: list[list[float]] = [[], []]
    rules: Counter[str] = Counter()
    roles: Counter[str] = Counter()
    bars, spent = 0, 0.0
    moves = [0, 0, 0]
    for song in all_songs(Settings(meter=Meter.parse("4/4"), tempo=76), count=count):
        reading = analyse(song)
        start = time.perf_counter()
        part = arrange(song, reading)
        spent += time.perf_counter() - start
        bars += len(song.bars)
        rules.update(finding.rule for finding in check(song, reading, part))
        roles.update(note.role.value for note in part.notes)
        for name, value in counts(song, part).items():
            values[name].append(value)
        sizes = moved(song, reading, part)
        moves = [a + b for a, b in zip(moves, sizes, strict=True)]
        for row, least in zip(ratios, sizes[1:], strict=True):
            row.append(sizes[0] / least if least else 1.0)
    for name, (low, middle, high) in HUMAN.items():
        _line(name, values[name], (low, middle, high), say)
    for name, row, least in zip(("own", "wider"), ratios, moves[1:], strict=True):
        row.sort()
        say(
            f"right hand moves {moves[0] / least:.3f} of the least possible in its {name} windows "
            f"in all; by song median {median(row):.3f}, 95th percentile "
            f"{row[len(row) * 95 // 100]:.3f}, worst {row[-1]:.3f}; "
            f"over 1.15: {sum(r > 1.15 for r in row)} of {len(row)}"
        )
    notes = sum(roles.values())
    say("roles: " + ", ".join(f"{role} {n / notes:.1%}" for role, n in roles.most_common()))
    say(f"findings: {dict(rules) or 'none'}")
    say(f"{bars} bars, {64e3 * spent / bars:.1f} ms for 64 bars")


def _line(
    name: str, found: Sequence[float], human: tuple[float, float, float], say: Callable[[str], None]
) -> None:
    low, middle, high = human
    inside = sum(low - 1e-9 <= value <= high + 1e-9 for value in found) / len(found)
    row = sorted(found)
    say(
        f"{name:32} {inside:6.1%} inside {low}–{high}; median {median(row):.2f} "
        f"(human {middle}), 5th {row[len(row) // 20]:.2f}, 95th {row[len(row) * 19 // 20]:.2f}"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("songs", type=int, nargs="?", default=375)
    report(parser.parse_args().songs)
