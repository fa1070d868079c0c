"""Undo and redo: the songs before and after, as lists of values."""

from __future__ import annotations

from dataclasses import replace

from engine.song import Bar, Song
from engine.workshop.loop import fitted
from engine.workshop.work import Cursor, Notice, Step, Work, refuse

#: How many songs undo keeps: more than anyone walks back, and small in memory.
DEPTH = 500


def change(work: Work, song: Song, name: str, *, cursor: Cursor | None = None) -> Work:
    """The work with another song, which undo takes back; `name` says what was done.

    A song equal to the present one leaves no step behind.
    """
    if song == work.song:
        return replace(work, trial=None, notice=Notice(f"{name}: nothing changes"))
    step = Step(work.song, work.cursor, name)
    after = replace(
        work,
        song=song,
        trial=None,
        past=(*work.past, step)[-DEPTH:],
        future=(),
        changed=differing_bars(work.song, song),
        notice=Notice(name),
        leaving=False,
    )
    return settle(after, cursor or work.cursor)


def undo(work: Work) -> Work:
    """One step back."""
    if not work.past:
        return refuse(work, "Nothing to undo: this is the song as it was opened")
    step = work.past[-1]
    back = replace(
        work,
        song=step.song,
        past=work.past[:-1],
        future=(*work.future, Step(work.song, work.cursor, step.name)),
        changed=differing_bars(work.song, step.song),
        notice=Notice(f"Undone: {step.name}"),
    )
    return settle(back, step.cursor)


def redo(work: Work) -> Work:
    """One step forward again."""
    if not work.future:
        return refuse(work, "Nothing to redo")
    step = work.future[-1]
    forward = replace(
        work,
        song=step.song,
        future=work.future[:-1],
        past=(*work.past, Step(work.song, work.cursor, step.name)),
        changed=differing_bars(work.song, step.song),
        notice=Notice(f"Redone: {step.name}"),
    )
    return settle(forward, step.cursor)


def settle(work: Work, cursor: Cursor) -> Work:
    """The work with cursor, selection and loop inside the song."""
    bars = work.song.bars
    bar = min(max(1, cursor.bar), len(bars))
    slot = min(max(0, cursor.slot), len(bars[bar - 1].slots) - 1)
    anchor = None if work.anchor is None else min(work.anchor, len(bars))
    loop = fitted(work.loop, work.song)
    return replace(work, cursor=Cursor(bar, slot), anchor=anchor, loop=loop)


def differing_bars(before: Song, after: Song) -> frozenset[int]:
    """Numbers of the bars of `after` whose chords or settings are not those of `before`."""

    def face(bar: Bar) -> tuple[object, ...]:
        chords = tuple((slot.onset, slot.kind, slot.chord) for slot in bar.slots)
        return (chords, bar.settings, bar.own, bar.key, bar.meter)

    old = [face(bar) for bar in before.bars]
    return frozenset(
        bar.number
        for bar in after.bars
        if bar.number > len(old) or face(bar) != old[bar.number - 1]
    )
