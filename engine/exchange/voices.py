"""From the notes of one hand in one bar to voices whose notes do not overlap."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from engine.pitch import Pitch


@dataclass(frozen=True, slots=True)
class Piece:
    """What one bar shows of one note: `onset` and `end` from the bar's start.

    `tie_in`: it began in an earlier bar; `tie_out`: it goes on in the next.
    """

    onset: Fraction
    end: Fraction
    pitch: Pitch
    tie_in: bool = False
    tie_out: bool = False
    finger: int | None = None
    velocity: int | None = None
    rolled: bool = False


@dataclass(frozen=True, slots=True)
class Stack:
    """Pieces that begin and end together, low to high."""

    onset: Fraction
    end: Fraction
    pieces: tuple[Piece, ...]

    @property
    def height(self) -> float:
        return sum(piece.pitch.midi for piece in self.pieces) / len(self.pieces)


def _stacks(pieces: Iterable[Piece]) -> list[Stack]:
    """Chords of equal length; one key is struck once: of two equal pitches the longer stays."""
    longest: dict[tuple[Fraction, int], Piece] = {}
    for piece in pieces:
        if piece.end <= piece.onset:
            continue
        key = (piece.onset, piece.pitch.midi)
        if key not in longest or longest[key].end < piece.end:
            longest[key] = piece
    ordered = sorted(longest.values(), key=lambda p: (p.onset, p.end, p.pitch.midi))
    return [
        Stack(onset, end, tuple(group))
        for (onset, end), group in groupby(ordered, key=lambda p: (p.onset, p.end))
    ]


def separate(pieces: Iterable[Piece]) -> tuple[tuple[Stack, ...], ...]:
    """The voices of a bar, the upper first; one voice where nothing overlaps.

    A stack goes to the free voice whose last stack lies nearest; where several
    begin together the highest chooses first.
    """
    voices: list[list[Stack]] = []
    for stack in sorted(_stacks(pieces), key=lambda s: (s.onset, -s.height)):
        free = [voice for voice in voices if voice[-1].end <= stack.onset]
        if free:
            min(free, key=lambda voice: _cost(voice, stack)).append(stack)
        else:
            voices.append([stack])
    ordered = sorted(voices, key=lambda voice: -_mean_height(voice))
    return tuple(tuple(voice) for voice in ordered)


def _cost(voice: Sequence[Stack], stack: Stack) -> tuple[float, Fraction]:
    return abs(voice[-1].height - stack.height), stack.onset - voice[-1].end


def _mean_height(voice: Sequence[Stack]) -> float:
    return sum(stack.height for stack in voice) / len(voice)
