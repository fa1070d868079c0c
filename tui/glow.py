"""What has just changed: the bars whose notes differ between two parts."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from engine.part import PartNote
from engine.song import Song
from engine.workshop import Stages

_Notes = list[tuple[object, ...]]


def differing_notes(before: Stages, after: Stages) -> frozenset[int]:
    """Bars whose notes another part has, where both parts are there.

    Where bars were put in or taken out, the bars at both ends that are as they
    were count as the same.
    """
    if before.part is None or after.part is None or before.part is after.part:
        return frozenset()
    still = [bar.start for bar in before.song.bars] == [bar.start for bar in after.song.bars]
    old = _bars(before.song, before.part.notes, still=still)
    new = _bars(after.song, after.part.notes, still=still)
    if len(old) == len(new):
        pairs = zip(old, new, strict=True)
        return frozenset(number for number, (one, other) in enumerate(pairs, 1) if one != other)
    most = min(len(old), len(new))
    head = next((at for at in range(most) if old[at] != new[at]), most)
    tail = next((at for at in range(most - head) if old[-1 - at] != new[-1 - at]), most - head)
    return frozenset(range(head + 1, len(new) - tail + 1))


def _bars(song: Song, notes: Iterable[PartNote], *, still: bool) -> list[_Notes]:
    """What is struck in each bar: hand, pitch, onset, length, role.

    Onsets count from the bar's start where bars are not `still` where they were.
    """
    found: list[_Notes] = [[] for _ in song.bars]
    starts: list[Fraction] = [bar.start for bar in song.bars]
    for note in notes:
        if note.bar <= len(found):
            inside = note.onset if still else note.onset - starts[note.bar - 1]
            found[note.bar - 1].append((note.hand, note.pitch, inside, note.duration, note.role))
    return found
