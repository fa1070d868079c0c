"""Surgery on chart text: one bar changed, added or taken out, and nothing else moves.

`place` is a bar's number in the chart, from 1.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from engine.song.chart import WrittenBar, split


def stretches(chart: str, bar: WrittenBar) -> list[tuple[int, int]]:
    """Where a bar's words stand: one (start, end) for each line that it runs over."""
    found = [bar.words[0]]
    for start, end in bar.words[1:]:
        if "\n" in chart[found[-1][1] : start]:
            found.append((start, end))
        else:
            found[-1] = (found[-1][0], end)
    return found


def words_of(chart: str, bar: WrittenBar) -> str:
    """A bar's words on one line, without its remarks."""
    return " ".join(chart[start:end] for start, end in stretches(chart, bar))


def cut(text: str, pieces: Iterable[tuple[int, int, str]]) -> str:
    """The text with its (start, end) pieces replaced."""
    for start, end, new in sorted(pieces, reverse=True):
        text = text[:start] + new + text[end:]
    return text


def with_bar(chart: str, place: int, words: str) -> str:
    """The chart with other words in one bar; blanks before the bar line keep it in its column."""
    bar = split(chart)[place - 1]
    (start, end), *more = stretches(chart, bar)
    words = words.strip()
    blanks = bar.end - end
    if bar.closed and not more and blanks and not chart[end : bar.end].strip(" "):
        width = max(1, blanks + (end - start) - len(words))
        return chart[:start] + words + " " * width + chart[bar.end :]
    return cut(chart, [(start, end, words), *((*each, "") for each in more)])


def with_bars(chart: str, place: int, bars: Sequence[str]) -> str:
    """The chart with bars put in before bar `place`, or after the last for one number more."""
    written = split(chart)
    words = [bar.strip() for bar in bars]
    if place <= len(written):
        at = written[place - 1].words[0][0]
        return chart[:at] + " | ".join([*words, ""]) + chart[at:]
    at = written[-1].words[-1][1]
    return chart[:at] + " | ".join(["", *words]) + chart[at:]


def without_bar(chart: str, place: int) -> str:
    """The chart without one bar and one of its bar lines; a line left bare goes too."""
    bars = split(chart)
    bar = bars[place - 1]
    words = stretches(chart, bar)
    pieces = [(start, end, "") for start, end in words]
    if bar.closed:
        after = re.compile(r"\|[ \t|]*(?<=\|)(?=\s*#)|\|[ \t|]*").match(chart, bar.end)
        assert after is not None
        pieces.append((bar.end, after.end(), ""))
        if not chart[words[-1][1] : bar.end].strip(" \t"):
            pieces[-2:] = [(words[-1][0], after.end(), "")]
    elif bar.start:
        before = re.compile(r"[ \t|]*\|$").search(chart[: bar.start])
        assert before is not None
        pieces.append((before.start(), words[0][0], ""))
    text = cut(chart, pieces)
    at = min(start for start, _, _ in pieces)
    start, end = text.rfind("\n", 0, at) + 1, text.find("\n", at)
    end = len(text) if end < 0 else end
    rest = text[at:end]
    if not rest.strip(" \t") or rest[0] in " \t":
        head = text[:at].rstrip(" \t")
        text = head + (rest if rest.strip(" \t") else "") + text[end:]
        end = text.find("\n", start) if "\n" in text[start:] else len(text)
    bare = text[:start] + text[end + 1 :]
    if not text[start:end].strip(" \t|") and len(_bars(bare)) == len(bars) - 1:
        return bare
    return text


def _bars(chart: str) -> tuple[WrittenBar, ...]:
    return split(chart) if chart.strip() else ()
