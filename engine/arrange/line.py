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
from engine.song import Hand


@dataclass(frozen=True, slots=True)
class Stroke:
    """One slot: `cell` (None a rest, () a hold), and for each of its notes a role and a why.

    `late` strikes the upper notes of a chord beyond reach half a slot later;
    `rolled` plays its notes from the lowest up.
    """

    cell: Cell
    roles: tuple[Role, ...] = ()
    text: str = ""
    whys: tuple[str, ...] = ()
    loud: int = 0
    rings: bool = False
    late: bool = False
    rolled: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """The strokes of one harmony in equal time; equal rows are mostly one object."""

    strokes: tuple[Stroke, ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A harmony in the song's time: `start`, `duration` and its bar's `bar_end` in whole notes."""

    number: int
    start: Fraction
    duration: Fraction
    bar_end: Fraction
    tones: Tones | None
    level: int


#: Nothing struck.
NOTHING = Row((Stroke(None, text="x"),))


@lru_cache(maxsize=64)
def _silent(count: int, held: int) -> Row:
    rest, hold = Stroke(None, text="x"), Stroke((), text=".")
    return Row((hold,) * held + (rest,) * (count - held))


def silence(item: Laid) -> Row:
    """A kept harmony's strokes: none, for its notes are there already; what is held in goes on."""
    count = len(item.right)
    if item.kept is None or item.spot.onset > 0:
        return _silent(count, 0)
    return _silent(count, int(-(-item.kept.open * count // item.spot.duration)))


def written(
    stretches: Sequence[Stretch], left: Sequence[Row], right: Sequence[Row]
) -> tuple[tuple[PartNote, ...], tuple[Token, ...]]:
    """The notes and tokens of both hands, each note held to its hand's next stroke or rest.

    Notes are by onset, then the left hand's first, then from the lowest.
    """
    notes: list[PartNote] = []
    tokens: list[Token] = []
    ends = [_ends(stretches, rows) for rows in (left, right)]
    for stretch, low, high, low_end, high_end in zip(stretches, left, right, *ends, strict=True):
        if stretch.tones is None:
            continue
        more, texts = _harmony(stretch, low, high, low_end, high_end)
        notes += more
        tokens += texts
    return tuple(notes), tuple(tokens)


def _ends(stretches: Sequence[Stretch], rows: Sequence[Row]) -> list[Fraction]:
    """For each harmony when what is held over its end stops: at the next stroke or rest."""
    found: list[Fraction] = []
    end = stretches[-1].start + stretches[-1].duration if stretches else Fraction(0)
    for stretch, row in zip(reversed(stretches), reversed(rows), strict=True):
        found.append(end)
        first = next((at for at, stroke in enumerate(row.strokes) if stroke.cell != ()), None)
        if first is not None:
            end = stretch.start
            if first:
                end += stretch.duration * first / len(row.strokes)
    found.reverse()
    return found


@lru_cache(maxsize=16384)
def _harmony(
    stretch: Stretch, left: Row, right: Row, left_end: Fraction, right_end: Fraction
) -> tuple[tuple[PartNote, ...], tuple[Token, ...]]:
    notes: list[PartNote] = []
    tokens: list[Token] = []
    for hand, row, end in ((Hand.LEFT, left, left_end), (Hand.RIGHT, right, right_end)):
        _hand(stretch, row.strokes, end, hand, notes, tokens)
    return in_order(notes), tuple(tokens)


def _hand(
    stretch: Stretch,
    strokes: tuple[Stroke, ...],
    end: Fraction,
    hand: Hand,
    notes: list[PartNote],
    tokens: list[Token],
) -> None:
    count = len(strokes)
    step = stretch.duration / count
    times = [stretch.start + index * step for index in range(count)]
    until = end
    for onset, stroke in zip(reversed(times), reversed(strokes), strict=True):
        tokens.append(Token(stretch.number, hand, onset, step, stroke.text))
        if stroke.cell == ():
            continue
        stop = stretch.start + stretch.duration if stroke.rings else until
        for index, midi in enumerate(stroke.cell or ()):
            at = onset + step / 2 if stroke.late and index else onset
            notes.append(_note(stretch, at, stop, midi, stroke, index, hand))
        until = onset
    tokens[-count:] = reversed(tokens[-count:])


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
    return PartNote(
        stretch.number,
        hand,
        stretch.tones.pitch(midi),
        onset,
        end - onset,
        stroke.roles[index],
        max(1, min(127, stretch.level + stroke.loud)),
        end > stretch.bar_end,
        None,
        stroke.whys[index] if stroke.whys else "",
        stroke.rolled,
    )


def in_order(notes: Iterable[PartNote]) -> tuple[PartNote, ...]:
    """Notes by onset, then left hand first, then from the lowest."""
    return tuple(
        sorted(notes, key=lambda note: (note.onset, note.hand is Hand.RIGHT, note.pitch.midi))
    )
