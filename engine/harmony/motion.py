"""From chord to chord: common tones, where each note goes, and how far.

The size of a voice leading is the least sum of semitones moved when voices may
double (Tymoczko 2006, Science 313: 72), over the pitch-class circle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from engine.pitch import Note


@dataclass(frozen=True, slots=True)
class Move:
    """A note of a chord and the note of the next it goes to, `semitones` up or down."""

    note: Note
    to: Note
    semitones: int


def _step(before: Note, after: Note) -> int:
    return (after.pc - before.pc + 6) % 12 - 6


@lru_cache(maxsize=8192)
def movement(before: tuple[Note, ...], after: tuple[Note, ...]) -> tuple[Move, ...]:
    """The smallest voice leading: every note of both chords takes part at least once."""
    if not before or not after:
        return ()
    one = sorted({note.pc: note for note in before}.values(), key=lambda note: note.pc)
    two = sorted({note.pc: note for note in after}.values(), key=lambda note: note.pc)
    # Some voice joins the lowest note of the first to a note of the second. From there once
    # round the circle that voice is met again an octave up, and counts once.
    start = [note.pc for note in one] + [one[0].pc + 12]
    best: tuple[int, list[tuple[int, int]]] | None = None
    for turn in range(len(two)):
        for lift in (-12, 0):
            turned = [note.pc + lift for note in two[turn:]]
            turned += [note.pc + lift + 12 for note in two[: turn + 1]]
            total, pairs = _align(start, turned)
            total -= abs(start[0] - turned[0])
            if best is None or total < best[0]:
                best = (total, [(i % len(one), (j + turn) % len(two)) for i, j in pairs])
    assert best is not None
    return tuple(
        Move(one[i], two[j], (two[j].pc - one[i].pc + 6) % 12 - 6) for i, j in sorted(set(best[1]))
    )


def _align(one: Sequence[int], two: Sequence[int]) -> tuple[int, list[tuple[int, int]]]:
    """The cheapest monotone path through the table of distances, and its pairs."""
    table: dict[tuple[int, int], int] = {}
    for i, x in enumerate(one):
        for j, y in enumerate(two):
            earlier = [table[at] for at in _earlier(i, j)]
            table[i, j] = abs(x - y) + min(earlier, default=0)
    at = (len(one) - 1, len(two) - 1)
    pairs = [at]
    while at != (0, 0):
        at = min(_earlier(*at), key=table.__getitem__)
        pairs.append(at)
    return table[len(one) - 1, len(two) - 1], pairs


def _earlier(i: int, j: int) -> list[tuple[int, int]]:
    places = ((i - 1, j - 1), (i - 1, j), (i, j - 1))
    return [(a, b) for a, b in places if a >= 0 and b >= 0]


def size(before: Sequence[Note], after: Sequence[Note]) -> int:
    """Semitones moved in all by the smallest voice leading."""
    return sum(abs(move.semitones) for move in movement(tuple(before), tuple(after)))


def common_tones(before: Sequence[Note], after: Sequence[Note]) -> tuple[Note, ...]:
    """Notes of the first chord that sound in the second too."""
    sounding = {note.pc for note in after}
    return tuple(note for note in before if note.pc in sounding)
