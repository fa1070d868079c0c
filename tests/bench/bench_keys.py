"""How the time to find keys grows with a song that goes through hundreds of them."""

from __future__ import annotations

from collections.abc import Callable
from time import process_time

from engine.harmony import KeyFinding, Reading, analyse, find_key
from engine.song import Song, read_song

ROWS = ("C F Dm G7", "D G Em A7", "Eb Ab Fm Bb7", "G C Am D7", "A D Bm E7", "F Bb Gm C7")


def _song(bars: int) -> Song:
    """Eight bars in each key in turn."""
    rows = [ROWS[n % len(ROWS)].split() * 2 for n in range(bars // 8)]
    lines = "\n".join(f"| {' | '.join(row)} |" for row in rows)
    return read_song(f'format = 1\nkey = "C major"\n[[section]]\nchart = """\n{lines}\n"""\n')


def _per_bar(run: Callable[[Song], Reading | KeyFinding], bars: int) -> float:
    """The least processor time of some runs, in microseconds a bar."""
    song, taken = _song(bars), []
    for _ in range(4):
        start = process_time()
        run(song)
        taken.append(process_time() - start)
    return 1e6 * min(taken) / bars


def test_time_grows_as_the_song() -> None:
    for name, run in (("analyse", analyse), ("key", find_key)):
        short, long = _per_bar(run, 1000), _per_bar(run, 8000)
        print(f"\n{name}: {short:.0f} µs a bar of 1,000, {long:.0f} of 8,000")
        assert long < 1.5 * short
