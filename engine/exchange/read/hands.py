"""Which hand plays each note, where a file does not say it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise

from engine.exchange.read.source import SourceNote
from engine.song import Hand

_CUTS = range(43, 73)
_USUAL_CUT = 58
_REACH = 14  # semitones a hand may span without price
_LINE = 7  # semitones: notes nearer than this that follow one another are likely of one hand
_PARTED, _PULL, _MOVED, _UNEQUAL, _GAP = 0.6, 0.01, 0.15, 1.2, 0.02


def split_hands(notes: Sequence[SourceNote]) -> list[SourceNote]:
    """The notes with a hand each: at every attack a cut in pitch, moving as little as it can.

    A dynamic program over the attacks: a cut costs where a hand would span more
    than a tenth, where it parts a note from one near it that was struck just
    before, and for moving; it likes wide gaps.
    """
    groups = [list(group) for _, group in groupby(sorted(notes, key=_order), key=lambda n: n.onset)]
    if not groups:
        return []
    costs = {cut: _cost(groups[0], cut) for cut in _CUTS}
    back: list[dict[int, int]] = []
    for last, group in pairwise(groups):
        pairs = _followed(last, group)
        step: dict[int, float] = {}
        origin: dict[int, int] = {}
        for cut in _CUTS:
            before = min(
                (c for c in range(cut - 5, cut + 6) if c in costs),
                key=lambda c: costs[c] + _MOVED * abs(c - cut),
            )
            parted = sum(price for low, high, price in pairs if low < cut <= high)
            step[cut] = costs[before] + _MOVED * abs(before - cut) + _cost(group, cut) + parted
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


def _followed(
    last: Sequence[SourceNote], group: Sequence[SourceNote]
) -> list[tuple[int, int, float]]:
    """(lower key, upper key, price of a cut between them) of notes that follow one another."""
    out: list[tuple[int, int, float]] = []
    for note in group:
        near = min((other.midi for other in last), key=lambda midi: abs(midi - note.midi))
        far = abs(near - note.midi)
        if 0 < far <= _LINE:
            price = _PARTED * (1 - far / (2 * _LINE))
            out.append((min(near, note.midi), max(near, note.midi), price))
    return out


def _order(note: SourceNote) -> tuple[Fraction, int]:
    return note.onset, note.midi


def _cost(group: Sequence[SourceNote], cut: int) -> float:
    low = [note for note in group if note.midi < cut]
    high = [note for note in group if note.midi >= cut]
    cost = _PULL * abs(cut - _USUAL_CUT)
    for hand in (low, high):
        if hand:
            cost += 0.5 * max(0, hand[-1].midi - hand[0].midi - _REACH)
            cost += 1.0 * max(0, len(hand) - 5)
            lengths = [note.duration for note in hand]
            cost += _UNEQUAL * (max(lengths) >= 3 * min(lengths))
    nearest = min(abs(note.midi + 0.5 - cut) for note in group)
    return cost - _GAP * min(12.0, nearest)
