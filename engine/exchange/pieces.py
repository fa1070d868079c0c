"""A hand's notes cut at the bar lines, and eased where they would crowd a staff."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from engine.exchange.marks import pedal_spans
from engine.exchange.voices import Piece
from engine.part import Part, PartNote
from engine.song import Bar, Hand

#: More voices than these on one staff are hard to read.
MOST_VOICES = 2


def eased(
    part: Part,
    bars: Sequence[Bar],
    hand: Hand,
    fingers: Mapping[int, int],
    pieces: dict[int, list[Piece]],
) -> dict[int, list[Piece]]:
    """A hand's pieces, but where a bar takes more than two voices notes are written shorter.

    A note is cut at its hand's next attack where the pedal holds it from
    beginning to end, so that nothing is lost to the ear.
    """
    crowded = {number for number, found in pieces.items() if _crowded(found)}
    if not crowded:
        return pieces
    spans = pedal_spans(part)
    attacks = sorted({note.onset for note in part.notes if note.hand is hand})
    notes = list(part.notes)
    for n, note in enumerate(notes):
        if note.hand is not hand or note.bar not in crowded:
            continue
        after = bisect_right(attacks, note.onset)
        if after == len(attacks) or attacks[after] >= note.end:
            continue
        if any(low <= note.onset and (high is None or note.end <= high) for low, high in spans):
            notes[n] = replace(note, duration=attacks[after] - note.onset)
    return cut_at_bars(notes, bars, hand, fingers)


def _crowded(pieces: Iterable[Piece]) -> bool:
    """Whether more stretches sound at once than two voices can hold."""
    sounding: list[Fraction] = []
    for onset, end in sorted({(piece.onset, piece.end) for piece in pieces}):
        sounding = [other for other in sounding if other > onset]
        sounding.append(end)
        if len(sounding) > MOST_VOICES:
            return True
    return False


def cut_at_bars(
    notes: Iterable[PartNote],
    bars: Sequence[Bar],
    hand: Hand,
    fingers: Mapping[int, int],
) -> dict[int, list[Piece]]:
    """The notes of a hand cut at the bar lines, by bar number."""
    out: dict[int, list[Piece]] = defaultdict(list)
    if not bars:
        return out
    start, end = bars[0].start, bars[-1].end
    index = 0
    for n, note in enumerate(notes):
        if note.hand is not hand or note.end <= start or note.onset >= end:
            continue
        while index and bars[index].start > note.onset:
            index -= 1
        while index + 1 < len(bars) and bars[index].end <= note.onset:
            index += 1
        at = index
        while at < len(bars) and bars[at].start < note.end:
            bar = bars[at]
            out[bar.number].append(
                Piece(
                    max(note.onset, bar.start) - bar.start,
                    min(note.end, bar.end) - bar.start,
                    note.pitch,
                    tie_in=note.onset < bar.start and at > 0,
                    tie_out=note.end > bar.end and at + 1 < len(bars),
                    finger=fingers.get(n),
                    velocity=note.velocity,
                    rolled=note.rolled,
                )
            )
            at += 1
    return out
