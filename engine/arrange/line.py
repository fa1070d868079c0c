"""A hand's line: what is struck when, and the written notes it gives.

A `Stroke` is one slot of a harmony: notes struck together, a hold or a rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from engine.arrange.laid import Laid
from engine.arrange.strand import Cell
from engine.hands import Tones
from engine.part import PartNote, Role, Token
from engine.song import Bar, Hand


@dataclass(frozen=True, slots=True)
class Stroke:
    """One slot: `cell` (None a rest, () a hold), and for each of its notes a role and a why.

    `late` strikes the upper notes of a chord beyond reach half a slot later.
    """

    cell: Cell
    roles: tuple[Role, ...] = ()
    text: str = ""
    whys: tuple[str, ...] = ()
    loud: int = 0
    rings: bool = False
    late: bool = False


@dataclass(frozen=True, slots=True)
class Stretch:
    """The strokes of one harmony in equal time; `start` and `duration` in whole notes."""

    bar: Bar
    start: Fraction
    duration: Fraction
    tones: Tones | None
    level: int
    strokes: tuple[Stroke, ...]


def silence(item: Laid) -> tuple[Stroke, ...]:
    """A kept harmony's strokes: none, for its notes are there already; what is held in goes on."""
    rest, hold = Stroke(None, text="x"), Stroke((), text=".")
    count = len(item.right)
    if item.kept is None or item.spot.onset > 0:
        return (rest,) * count
    held = -(-item.kept.open * count // item.spot.duration)
    return (hold,) * int(held) + (rest,) * (count - int(held))


@lru_cache(maxsize=16384)
def _times(start: Fraction, duration: Fraction, count: int) -> tuple[Fraction, ...]:
    return tuple(start + duration * index / count for index in range(count))


def written(stretches: Sequence[Stretch], hand: Hand) -> tuple[list[PartNote], list[Token]]:
    """The notes and tokens of a hand's line, each note held to the next stroke or rest."""
    notes: list[PartNote] = []
    tokens: list[Token] = []
    open_notes: list[tuple[Stretch, Fraction, int, Stroke, int]] = []
    ringing: list[tuple[Stretch, Fraction, int, Stroke, int]] = []

    def close(held: list[tuple[Stretch, Fraction, int, Stroke, int]], end: Fraction) -> None:
        for stretch, onset, midi, stroke, index in held:
            notes.append(_note(stretch, onset, end, midi, stroke, index, hand))
        held.clear()

    for stretch in stretches:
        count = len(stretch.strokes)
        times = _times(stretch.start, stretch.duration, count)
        step = stretch.duration / count
        close(ringing, stretch.start)
        if stretch.tones is None:
            close(open_notes, stretch.start)
            continue
        for onset, stroke in zip(times, stretch.strokes, strict=True):
            tokens.append(Token(stretch.bar.number, hand, onset, step, stroke.text))
            if stroke.cell == ():
                continue
            close(open_notes, onset)
            if stroke.cell is None:
                continue
            for index, midi in enumerate(stroke.cell):
                at = onset + step / 2 if stroke.late and index else onset
                where = ringing if stroke.rings else open_notes
                where.append((stretch, at, midi, stroke, index))
    if stretches:
        end = stretches[-1].start + stretches[-1].duration
        close(ringing, end)
        close(open_notes, end)
    return notes, tokens


def _note(
    stretch: Stretch,
    onset: Fraction,
    end: Fraction,
    midi: int,
    stroke: Stroke,
    index: int,
    hand: Hand,
) -> PartNote:
    assert stretch.tones is not None
    bar = stretch.bar
    return PartNote(
        bar.number,
        hand,
        stretch.tones.pitch(midi),
        onset,
        end - onset,
        stroke.roles[index],
        max(1, min(127, stretch.level + stroke.loud)),
        end > bar.start + bar.meter.bar,
        None,
        stroke.whys[index] if stroke.whys else "",
    )


def in_order(notes: Iterable[PartNote]) -> tuple[PartNote, ...]:
    """Notes by onset, then left hand first, then from the lowest."""
    return tuple(
        sorted(notes, key=lambda note: (note.onset, note.hand is Hand.RIGHT, note.pitch.midi))
    )
