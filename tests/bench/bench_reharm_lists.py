"""How long a bar's list and eight bars' paths take, first and later."""

from __future__ import annotations

import time

from engine.reharm import suggest, suggest_span
from engine.song import read_song

CHART = "| C | Am7 | Dm7 | G7 | C | F | G7 | C | C | ? | Dm | Em | Am | D7 | G7 | C |"
SONG = (
    'format = 1\ntitle = "Trial"\nkey = "C major"\nmeter = "4/4"\ntempo = 80\n[[section]]\n'
    f'name = "A"\nchart = """\n{CHART}\n"""\nmelody = "C8 | C8 | D8 | D8 | C8 | C8 | D8 | C8"\n'
)


def _median_ms(times: list[float]) -> float:
    return sorted(times)[len(times) // 2] * 1000


def test_a_bar_lists_within_30_ms_and_eight_bars_within_300() -> None:
    song = read_song(SONG)
    suggest(song, None, 1)  # the tables are read once
    lists, spans = [], []
    for bar in range(1, 17):
        start = time.perf_counter()
        suggest(song, None, bar)
        lists.append(time.perf_counter() - start)
    for first in range(1, 10):
        start = time.perf_counter()
        suggest_span(song, None, first, first + 7, dial=0.4 + first / 100)
        spans.append(time.perf_counter() - start)
    print(f"\nlist of a bar: {_median_ms(lists):.1f} ms, worst {max(lists) * 1000:.1f}")
    print(f"paths of eight bars: {_median_ms(spans):.0f} ms, worst {max(spans) * 1000:.0f}")
    assert _median_ms(lists) < 30
    assert _median_ms(spans) < 300
