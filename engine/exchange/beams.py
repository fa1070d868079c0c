"""Beams by beat group, level by level, and the ends of tuplets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from engine.exchange.score import Entry
from engine.meter import Meter

_LEVELS = {
    "eighth": 1,
    "16th": 2,
    "32nd": 3,
    "64th": 4,
    "128th": 5,
    "256th": 6,
}
_EIGHTH = Fraction(1, 8)


def beamed(entries: Sequence[Entry], meter: Meter) -> tuple[Entry, ...]:
    """The entries of one voice and bar with their beams and tuplet ends set.

    Beams keep to the beat; two beats of a half bar share one beam in 4/4 and
    2/4 where the half holds nothing but eighths.
    """
    out = list(_with_tuplet_ends(entries))
    for run in _runs(out, _windows(out, meter)):
        for index, beams in zip(run, _beam_words([out[index] for index in run]), strict=True):
            out[index] = replace(out[index], beams=beams)
    return tuple(out)


def _with_tuplet_ends(entries: Sequence[Entry]) -> list[Entry]:
    out: list[Entry] = []
    for n, entry in enumerate(entries):
        tuplet = entry.written.tuplet
        before = entries[n - 1].written.tuplet if n else None
        after = entries[n + 1].written.tuplet if n + 1 < len(entries) else None
        out.append(
            replace(
                entry,
                opens_tuplet=tuplet is not None and tuplet != before,
                closes_tuplet=tuplet is not None and tuplet != after,
            )
        )
    return out


def _windows(entries: Sequence[Entry], meter: Meter) -> list[tuple[Fraction, Fraction]]:
    beat = Fraction(1, 4) if meter.unit <= 4 else None
    windows: list[tuple[Fraction, Fraction]] = []
    bounds = [*meter.group_starts, meter.bar]
    for low, high in pairwise(bounds):
        if beat is None or high - low <= beat:
            windows.append((low, high))
            continue
        if meter.unit == 2 and _only_eighths(entries, low, high):
            windows.append((low, high))
            continue
        at = low
        while at < high:
            windows.append((at, min(at + beat, high)))
            at += beat
    if meter.unit == 4 and len(meter.groups) in (2, 4) and set(meter.groups) == {1}:
        return _joined(entries, windows)
    return windows


def _joined(
    entries: Sequence[Entry], windows: list[tuple[Fraction, Fraction]]
) -> list[tuple[Fraction, Fraction]]:
    out: list[tuple[Fraction, Fraction]] = []
    for first, second in zip(windows[::2], windows[1::2], strict=True):
        if _only_eighths(entries, first[0], second[1]):
            out.append((first[0], second[1]))
        else:
            out += [first, second]
    return out


def _only_eighths(entries: Sequence[Entry], low: Fraction, high: Fraction) -> bool:
    inside = [entry.written for entry in entries if low <= entry.written.onset < high]
    return bool(inside) and all(
        written.value == _EIGHTH and written.tuplet is None for written in inside
    )


def _runs(entries: Sequence[Entry], windows: list[tuple[Fraction, Fraction]]) -> list[list[int]]:
    """Indices of neighbours that one beam joins."""
    runs: list[list[int]] = []
    last_window: int | None = None
    for index, entry in enumerate(entries):
        window = next(
            (
                n
                for n, (low, high) in enumerate(windows)
                if low <= entry.written.onset and entry.written.end <= high
            ),
            None,
        )
        window = _tuplet_window(entry, window, windows)
        if entry.is_rest or entry.written.type not in _LEVELS or window is None:
            last_window = None
            continue
        if window == last_window and runs:
            runs[-1].append(index)
        else:
            runs.append([index])
        last_window = window
    return [run for run in runs if len(run) > 1]


def _tuplet_window(
    entry: Entry, window: int | None, windows: list[tuple[Fraction, Fraction]]
) -> int | None:
    """A tuplet longer than a beat is beamed as one."""
    tuplet = entry.written.tuplet
    if tuplet is None:
        return window
    for n, (low, high) in enumerate(windows):
        if low <= tuplet.start and tuplet.start + tuplet.length <= high:
            return n
    return -1 - int(tuplet.start * 256)


def _beam_words(run: Sequence[Entry]) -> list[tuple[str, ...]]:
    levels = [_LEVELS[entry.written.type] for entry in run]
    last = len(run) - 1
    out: list[tuple[str, ...]] = []
    for n, own in enumerate(levels):
        words: list[str] = []
        for level in range(1, own + 1):
            left = n > 0 and levels[n - 1] >= level
            right = n < last and levels[n + 1] >= level
            if left and right:
                words.append("continue")
            elif right:
                words.append("begin")
            elif left:
                words.append("end")
            else:
                words.append("backward hook" if n == last or _ends_beat(run[n]) else "forward hook")
        out.append(tuple(words))
    return out


def _ends_beat(entry: Entry) -> bool:
    """A short note that completes a longer one points back to it."""
    end = entry.written.end
    return end.denominator < entry.written.onset.denominator
