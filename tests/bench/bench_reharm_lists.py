"""How long a bar's list and eight bars' paths take, first and later; limits in units of work."""

from __future__ import annotations

import gc
import time
from statistics import median

from engine.reharm import suggest, suggest_span
from engine.song import read_song
from tests.bench.unit import scaled_ms, unit

CHART = "| C | Am7 | Dm7 | G7 | C | F | G7 | C | C | ? | Dm | Em | Am | D7 | G7 | C |"
SONG = (
    'format = 1\ntitle = "Trial"\nkey = "C major"\nmeter = "4/4"\ntempo = 80\n[[section]]\n'
    f'name = "A"\nchart = """\n{CHART}\n"""\nmelody = "C8 | C8 | D8 | D8 | C8 | C8 | D8 | C8"\n'
)


def _report(what: str, times: list[float], here: float, limit: int) -> float:
    """Print the times; the median as it would be on the machine of the limits, in ms."""
    middle = scaled_ms(median(times), here)
    print(
        f"\n{what}: median {median(times) * 1000:.1f} ms here, worst {max(times) * 1000:.1f};"
        f" as {middle:.1f} ms (limit {limit})"
    )
    return middle


def test_a_bar_lists_within_30_ms_and_eight_bars_within_300() -> None:
    song = read_song(SONG)
    suggest(song, None, 1)  # the tables are read once
    gc.collect()
    gc.freeze()  # looking through what other benches left is no part of a list
    here, clock = unit(), time.process_time
    lists, spans = [], []
    for bar in range(1, 17):
        start = clock()
        suggest(song, None, bar)
        lists.append(clock() - start)
    for first in range(1, 10):
        start = clock()
        suggest_span(song, None, first, first + 7, dial=0.4 + first / 100)
        spans.append(clock() - start)
    assert _report("list of a bar", lists, here, 30) < 30
    assert _report("paths of eight bars", spans, here, 300) < 300
