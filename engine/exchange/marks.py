"""Dynamics, pedal and ritard of a part as marks in bars and staves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction

from engine.exchange.score import Mark, MarkKind
from engine.part import Part
from engine.song import Bar, Hand

_Timed = tuple[Fraction, MarkKind, str]


def marks_by_bar(
    part: Part, bars: Sequence[Bar], slows: Fraction | None = None
) -> dict[int, list[Mark]]:
    """Dynamics, pedal and ritard (where the song `slows`) by bar.

    What ends on a downbeat ends at the bar line before it, so that no line
    begins with the stub of a hairpin or of a pedal.
    """
    out: dict[int, list[Mark]] = defaultdict(list)
    if not bars:
        return out
    low, high = bars[0].start, bars[-1].end
    timed = [*_dynamics(part, low, high), *_pedal(part, bars)]
    if slows is not None and low <= slows < high:
        timed.append((slows, MarkKind.WORDS, "rit."))
    at = 0
    for onset, kind, text in sorted(timed, key=lambda item: (item[0], item[2] != "end")):
        while at + 1 < len(bars) and bars[at].end <= onset:
            at += 1
        bar, shown = bars[at], text
        if onset == bar.start and at and text in ("end", "up", "change"):
            before = bars[at - 1]
            ends = "end" if text == "end" else "up"
            out[before.number].append(Mark(before.meter.bar, kind, ends))
            if text != "change":
                continue
            shown = "down"
        out[bar.number].append(Mark(onset - bar.start, kind, shown))
    return out


def staff_marks(marks: Iterable[Mark], hand: Hand, staves: Sequence[Hand]) -> tuple[Mark, ...]:
    """Dynamics go to the upper staff, the pedal to the lowest."""
    return tuple(
        mark for mark in marks
        if (mark.kind is MarkKind.PEDAL and hand is staves[-1])
        or (mark.kind is not MarkKind.PEDAL and hand is staves[0])
    )  # fmt: skip


def pedal_spans(part: Part) -> list[tuple[Fraction, Fraction | None]]:
    """From each press of the pedal to the next release; None where it is never let go."""
    spans: list[tuple[Fraction, Fraction | None]] = []
    down: Fraction | None = None
    for move in sorted(part.pedal, key=lambda move: (move.onset, move.down)):
        if move.down and down is None:
            down = move.onset
        elif not move.down and down is not None:
            spans.append((down, move.onset))
            down = None
    return spans if down is None else [*spans, (down, None)]


def _dynamics(part: Part, low: Fraction, high: Fraction) -> list[_Timed]:
    """Marks and hairpins from one place up to another; a hairpin ends at the next mark."""
    out: list[_Timed] = []
    hairpin: tuple[Fraction, str] | None = None
    for mark in sorted(part.dynamics, key=lambda mark: (mark.onset, mark.mark != "end")):
        if mark.onset >= high:
            break
        opens = mark.mark in ("<", ">")
        if hairpin and (opens or mark.mark == "end" or mark.onset > hairpin[0]):
            out += _hairpin(*hairpin, mark.onset, low)
            hairpin = None
        if opens:
            hairpin = (mark.onset, mark.mark)
        elif mark.mark != "end" and mark.onset >= low:
            out.append((mark.onset, MarkKind.DYNAMIC, mark.mark))
    if hairpin:
        out += _hairpin(*hairpin, high, low)
    return out


def _hairpin(begin: Fraction, text: str, end: Fraction, low: Fraction) -> list[_Timed]:
    begin = max(begin, low)
    if end <= begin:
        return []
    return [(begin, MarkKind.HAIRPIN, text), (end, MarkKind.HAIRPIN, "end")]


def _pedal(part: Part, bars: Sequence[Bar]) -> list[_Timed]:
    low, high = bars[0].start, bars[-1].end
    out: list[_Timed] = []
    down = False
    by_place: dict[Fraction, list[bool]] = defaultdict(list)
    for move in part.pedal:
        by_place[move.onset].append(move.down)
    for onset in sorted(by_place):
        moves = by_place[onset]
        if onset >= high and not (down and onset == high and False in moves):
            break
        presses = moves[-1] if True not in moves else True
        if onset == high:
            presses = False
        if onset >= low:
            if down and presses and False in moves:
                out.append((onset, MarkKind.PEDAL, "change"))
            elif not down and presses:
                out.append((onset, MarkKind.PEDAL, "down"))
            elif down and not presses:
                out.append((onset, MarkKind.PEDAL, "up"))
            down = presses
    if down:
        out.append((high, MarkKind.PEDAL, "up"))
    return out
