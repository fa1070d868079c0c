"""A loop: bars, or from one beat to another, or on to the first note of the next bar."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil

from engine.errors import InputError
from engine.part import Part
from engine.song import Song

_TYPED = re.compile(r"(\d{1,4})(?:\.(\d{1,2}))?\s*(?:[-–]\s*(\d{1,4})(?:\.(\d{1,2}))?)?")


@dataclass(frozen=True, slots=True)
class Loop:
    """Bars `first` to `last` inclusive, from 1.

    `start` is where in the first bar it begins and `end` where in the last it
    ends, in whole notes, None for that bar's end. A `link` goes on to the first
    note of the bar that follows.
    """

    first: int
    last: int
    start: Fraction = Fraction(0)
    end: Fraction | None = None
    link: bool = False

    @property
    def bars(self) -> tuple[int, int]:
        return self.first, self.last

    @property
    def offsets(self) -> str:
        """What the practice log knows it by beside its bars: empty for whole bars."""
        return "" if not self.start and self.end is None else f"{self.start}:{self.end or ''}"


def fitted(loop: Loop | None, song: Song) -> Loop | None:
    """The loop inside a song that may have changed, None where its bars are gone."""
    if loop is None or loop.first > len(song.bars):
        return None
    last = min(loop.last, len(song.bars))
    end = loop.end if last == loop.last else None
    if end is not None and end >= song.bars[last - 1].meter.bar:
        end = None
    start = loop.start if loop.start < song.bars[loop.first - 1].meter.bar else Fraction(0)
    if loop.first == last and end is not None and end <= start:
        end = None
    return replace(loop, last=last, start=start, end=end)


def span(loop: Loop, song: Song, part: Part | None = None) -> tuple[Fraction, Fraction]:
    """Start and end in whole notes; a link needs the part to know the next bar's first note."""
    kept = fitted(loop, song) or Loop(1, len(song.bars))
    first, last = song.bars[kept.first - 1], song.bars[kept.last - 1]
    start = first.start + kept.start
    if kept.end is not None:
        return start, last.start + kept.end
    if kept.link and part is not None:
        from engine.workshop.plan import link_span

        return start, link_span(song, part, kept.bars)[1]
    return start, last.end


def loop_text(loop: Loop, song: Song) -> str:
    """`7`, `7–8`, `7.3–8.2` from beat to beat inclusive, `7–8 → 9` for a link."""
    kept = fitted(loop, song) or loop
    if not kept.offsets:
        text = f"{kept.first}" if kept.first == kept.last else f"{kept.first}–{kept.last}"
    else:
        first, last = song.bars[kept.first - 1], song.bars[kept.last - 1]
        end = last.meter.bar if kept.end is None else kept.end
        begin = int(first.beat_of(kept.start))
        text = f"{kept.first}.{begin}–{kept.last}.{ceil(last.beat_of(end)) - 1}"
    return f"{text} → {kept.last + 1}" if kept.link and kept.last < len(song.bars) else text


def typed_loop(text: str, song: Song) -> Loop:
    """A loop as typed: `7`, `7-8`, or with beats, both inclusive, `7.3-8.2`. Raises InputError."""
    match = _TYPED.fullmatch(text.strip())
    if match is None:
        raise InputError(f"“{text}” is no loop", "type bars, like 7-8, or bar.beat, like 7.3-8.2")
    first = int(match[1])
    last = int(match[3]) if match[3] else first
    if not 1 <= first <= last <= len(song.bars):
        raise InputError(f"there are no bars {text}", f"the song has bars 1 to {len(song.bars)}")
    start = _beat(song, first, match[2]) or Fraction(0)
    end = None
    at = _beat(song, last, match[4])
    if at is not None:
        meter = song.bars[last - 1].meter
        end = at + meter.beat if at + meter.beat < meter.bar else None
    if first == last and end is not None and end <= start:
        raise InputError(f"“{text}” ends before it begins", "type the earlier beat first")
    return Loop(first, last, start, end)


def _beat(song: Song, bar: int, typed: str | None) -> Fraction | None:
    """Where a beat of a bar begins, in whole notes from the bar's start."""
    if typed is None:
        return None
    meter = song.bars[bar - 1].meter
    if not 1 <= int(typed) <= meter.beats:
        raise InputError(f"bar {bar} has no beat {typed}", f"its beats are 1 to {meter.beats}")
    return (int(typed) - 1) * meter.beat
