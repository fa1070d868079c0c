"""Which hand plays each note, where a file does not say it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby

from engine.exchange.read.source import SourceNote
from engine.song import Hand

_CUTS = range(43, 73)
_USUAL_CUT = 58
_REACH = 14  # semitones a hand may span without price


def split_hands(notes: Sequence[SourceNote]) -> list[SourceNote]:
    """The notes with a hand each: at every attack a cut in pitch, moving as little as it can.

    A dynamic program over the attacks: a cut costs where a hand would span more
    than a tenth or have nothing to do, and for moving; it likes wide gaps.
    """
    groups = [list(group) for _, group in groupby(sorted(notes, key=_order), key=lambda n: n.onset)]
    if not groups:
        return []
    costs = {cut: _cost(groups[0], cut) for cut in _CUTS}
    back: list[dict[int, int]] = []
    for group in groups[1:]:
        step: dict[int, float] = {}
        origin: dict[int, int] = {}
        for cut in _CUTS:
            before = min(
                (c for c in range(cut - 5, cut + 6) if c in costs),
                key=lambda c: costs[c] + 0.25 * abs(c - cut),
            )
            step[cut] = costs[before] + 0.25 * abs(before - cut) + _cost(group, cut)
            origin[cut] = before
        costs = step
        back.append(origin)
    cut = min(costs, key=lambda c: costs[c])
    cuts = [cut]
    for origin in reversed(back):
        cut = origin[cut]
        cuts.append(cut)
    out: list[SourceNote] = []
    for group, cut in zip(groups, reversed(cuts), strict=True):
        out += [replace(note, hand=Hand.LEFT if note.midi < cut else Hand.RIGHT) for note in group]
    return out


def _order(note: SourceNote) -> tuple[Fraction, int]:
    return note.onset, note.midi


def _cost(group: Sequence[SourceNote], cut: int) -> float:
    low = [note.midi for note in group if note.midi < cut]
    high = [note.midi for note in group if note.midi >= cut]
    cost = 0.04 * abs(cut - _USUAL_CUT)
    for hand in (low, high):
        if hand:
            cost += 0.5 * max(0, hand[-1] - hand[0] - _REACH)
            cost += 1.0 * max(0, len(hand) - 5)
    nearest = min(abs(note.midi + 0.5 - cut) for note in group)
    return cost - 0.03 * min(12.0, nearest)
