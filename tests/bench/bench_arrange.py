"""How fast a song is arranged: from nothing, after one chord's change, and long songs.

    python -m pytest tests/bench/bench_arrange.py -s

Time is this process's own (other processes don't count), in milliseconds of the machine of the
limits (`unit`). Limits are those of the design: 64 bars from nothing in 60 ms, after one chord's
edit in 10 ms, and 2,000 bars at no more than 1.2 times the time a bar of 64 bars takes.
"""

from __future__ import annotations

import gc
import subprocess
import sys
import time
from statistics import median

from engine.arrange import arrange
from engine.harmony import analyse
from engine.song import Section, Settings, Song, build, set_slot
from tests.bench.unit import scaled_ms, unit

VERSE = (
    "C", "G/B", "Am", "Em/G", "F", "C/E", "Dm7", "G7", "C", "E7", "Am", "C7/G", "F", "Fm",
    "C/G G7", "C", "Am", "F", "C", "G", "Am", "F", "Dm7", "Gsus4 G7", "F", "G/F", "Em7", "Am7",
    "Dm7", "D7/F#", "Gsus4", "G7",
)  # fmt: skip
EDITS = ("Bb", "Em7")


def song_of(count: int) -> Song:
    """A song of so many bars in sections of sixteen."""
    row = [VERSE[(bar * (1 + bar // 32)) % len(VERSE)] for bar in range(count)]
    sections = [
        Section(f"{start}", "| " + " | ".join(row[start : start + 16]) + " |")
        for start in range(0, count, 16)
    ]
    return build("Bench", Settings(tempo=76.0), sections)


def _spent(song: Song) -> float:
    """Milliseconds of this process's time to arrange a song whose reading is there."""
    reading = analyse(song)
    start = time.process_time()
    arrange(song, reading)
    return 1000 * (time.process_time() - start)


def from_nothing() -> float:
    """Milliseconds, scaled, for the first arrangement of a process, its data files read."""
    tiny = song_of(1)
    arrange(tiny, analyse(tiny))
    return scaled_ms(_spent(song_of(64)) / 1000, unit())


def test_bench_64_bars_from_nothing() -> None:
    code = "from tests.bench.bench_arrange import from_nothing; print(from_nothing())"
    runs = [
        float(subprocess.run([sys.executable, "-c", code], check=True, capture_output=True).stdout)
        for _ in range(5)
    ]
    print(f"\n64 bars from nothing: {median(runs):.1f} ms (limit 60)")
    assert median(runs) < 60


def edits() -> list[float]:
    """Milliseconds, scaled, after one chord's edit: every bar, a usual chord and one that stands
    out, so that it moves its section's peak. What Python collects meanwhile is not counted.
    """
    song = song_of(64)
    _spent(song)
    gc.disable()
    here = unit()
    return [
        scaled_ms(_spent(set_slot(song, bar, 0, symbol)) / 1000, here)
        for bar in range(1, 65)
        for symbol in EDITS
    ]


def test_bench_one_chords_edit() -> None:
    code = "from tests.bench.bench_arrange import edits; print(*edits())"
    runs = [
        subprocess.run([sys.executable, "-c", code], check=True, capture_output=True).stdout.split()
        for _ in range(5)
    ]
    # Each edit's least: what else the machine does must not count.
    spent = sorted(min(map(float, row)) for row in zip(*runs, strict=True))
    print(
        f"\nafter one chord's edit, {len(spent)} of them: median {median(spent):.1f}, "
        f"95th percentile {spent[len(spent) * 95 // 100]:.1f}, worst {spent[-1]:.1f} ms (limit 10)"
    )
    assert spent[-1] < 10


def test_bench_long_songs_take_no_longer_a_bar() -> None:
    code = "from tests.bench.bench_arrange import _spent, song_of; _spent(song_of(1))"
    code += "; print(_spent(song_of({})))"
    first, many = (
        float(
            subprocess.run(
                [sys.executable, "-c", code.format(count)], check=True, capture_output=True
            ).stdout
        )
        for count in (64, 2000)
    )
    ratio = (many / 2000) / (first / 64)
    print(f"\n2,000 bars, per bar against 64 bars, both from nothing: {ratio:.2f} (limit 1.2)")
    assert ratio < 1.2
