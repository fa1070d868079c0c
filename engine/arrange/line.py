"""A hand's line: what is struck when, and the written notes it gives.

A `Stroke` is one slot of a harmony: notes struck together, a hold or a rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from operator import itemgetter
from typing import NamedTuple

from engine.arrange.laid import Laid
from engine.arrange.strand import Cell
from engine.hands import Group, Tones
from engine.part import PartNote, Role, Token
from engine.song import Hand

Times = tuple[Fraction, ...]


class Stroke(NamedTuple):
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
    """The strokes of one harmony in equal time; made by `row_of`, so equal rows are one object."""

    strokes: tuple[Stroke, ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A harmony in the song's time: `start`, `end` and its bar's `bar_end` in whole notes."""

    number: int
    start: Fraction
    end: Fraction
    bar_end: Fraction
    tones: Tones | None


@lru_cache(maxsize=16384)
def row_of(strokes: tuple[Stroke, ...]) -> Row:
    """The row of some strokes: for equal strokes one object."""
    return Row(strokes)


#: Nothing struck.
NOTHING = row_of((Stroke(None, text="x"),))


@lru_cache(maxsize=64)
def _silent(count: int, held: int) -> Row:
    rest, hold = Stroke(None, text="x"), Stroke((), text=".")
    return row_of((hold,) * held + (rest,) * (count - held))


def silence(item: Laid) -> Row:
    """A kept harmony's strokes: none, for its notes are there already; what is held in goes on."""
    count = len(item.right)
    if item.kept is None or item.spot.onset > 0:
        return _silent(count, 0)
    return _silent(count, int(-(-item.kept.open * count // item.spot.duration)))


def written(
    stretches: Sequence[Stretch], left: Sequence[Row], right: Sequence[Row]
) -> list[tuple[Group, tuple[Token, ...]]]:
    """The notes and tokens of each harmony, each note held to its hand's next stroke or rest.

    Velocities are what accents add; `played` lays the level under
    them. Notes are by onset, then the left hand's first, then from the lowest.
    """
    return [
        _harmony(*row)
        for row in zip(
            stretches,
            left,
            right,
            _ends(stretches, left),
            _ends(stretches, right),
            strict=True,
        )
    ]


@lru_cache(maxsize=8192)
def _grid(start: Fraction, end: Fraction, count: int) -> tuple[Times, Times]:
    """Where `count` equal slots begin, and the end; how long 0, 1, 2 … of them last."""
    step = (end - start) / count
    lengths = tuple(at * step for at in range(count + 1))
    return tuple(start + length for length in lengths), lengths


def _ends(stretches: Sequence[Stretch], rows: Sequence[Row]) -> list[Fraction]:
    """For each harmony when what is held over its end stops: at the next stroke or rest."""
    found: list[Fraction] = []
    end = stretches[-1].end if stretches else Fraction(0)
    for stretch, row in zip(reversed(stretches), reversed(rows), strict=True):
        found.append(end)
        first = next((at for at, stroke in enumerate(row.strokes) if stroke.cell != ()), None)
        if first is not None:
            end = _grid(stretch.start, stretch.end, len(row.strokes))[0][first]
    found.reverse()
    return found


@lru_cache(maxsize=16384)
def _harmony(
    stretch: Stretch, left: Row, right: Row, left_end: Fraction, right_end: Fraction
) -> tuple[Group, tuple[Token, ...]]:
    notes: list[tuple[int, bool, int, PartNote]] = []
    tokens: list[Token] = []
    if stretch.tones is not None:
        both = 2 * len(left.strokes) * len(right.strokes)  # a grid for both hands, halves too
        for hand, row, end in ((Hand.LEFT, left, left_end), (Hand.RIGHT, right, right_end)):
            _hand(stretch, row.strokes, end, hand, both, notes, tokens)
    notes.sort(key=itemgetter(0, 1, 2))
    return Group(tuple(note for *_, note in notes)), tuple(tokens)


def _hand(
    stretch: Stretch,
    strokes: tuple[Stroke, ...],
    end: Fraction,
    hand: Hand,
    both: int,
    notes: list[tuple[int, bool, int, PartNote]],
    tokens: list[Token],
) -> None:
    """Add a hand's notes, each with its place on a grid of `both`, its hand and MIDI number."""
    assert stretch.tones is not None
    count = len(strokes)
    times, lengths = _grid(stretch.start, stretch.end, count)
    over, step = end - stretch.end, lengths[1]
    until = count
    for index in range(count - 1, -1, -1):
        stroke = strokes[index]
        tokens.append(Token(stretch.number, hand, times[index], step, stroke.text))
        if stroke.cell == ():
            continue
        stop = count if stroke.rings else until
        lasts = lengths[stop - index]
        if stop == count and over and not stroke.rings:
            lasts += over
        for at, midi in enumerate(stroke.cell or ()):
            late = bool(stroke.late and at)
            note = PartNote(
                stretch.number,
                hand,
                stretch.tones.pitch(midi),
                times[index] + step / 2 if late else times[index],
                lasts - step / 2 if late else lasts,
                stroke.roles[at],
                stroke.loud,
                stop == count and bool(over) and not stroke.rings and end > stretch.bar_end,
                None,
                stroke.whys[at] if stroke.whys else "",
                stroke.rolled,
            )
            notes.append(
                ((2 * index + late) * (both // (2 * count)), hand is Hand.RIGHT, midi, note)
            )
        until = index
    tokens[-count:] = reversed(tokens[-count:])


@lru_cache(maxsize=16384)
def played(group: Group, fingers: tuple[int, ...], level: int) -> tuple[PartNote, ...]:
    """The group's notes with their fingers, their velocities on a level."""
    return tuple(
        note.played(finger, max(1, min(127, level + note.velocity)))
        for note, finger in zip(group.notes, fingers, strict=True)
    )
