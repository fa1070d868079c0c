"""How far voices move between two chords, and what the bass does.

The voice-leading distance is that of Tymoczko (Science 313, 2006): semitones in
all, voices may double, the least over all rotations.
"""

from __future__ import annotations

from functools import lru_cache

from engine.chord import Chord


def distance(first: Chord, second: Chord) -> int:
    """Semitones that all voices move together, bass included, by the shortest way."""
    return _distance(_sorted(first), _sorted(second))


def _sorted(chord: Chord) -> tuple[int, ...]:
    return tuple(sorted(chord.pitch_classes))


@lru_cache(maxsize=1 << 15)
def _distance(first: tuple[int, ...], second: tuple[int, ...]) -> int:
    return min(
        _aligned(first, [*second[turn:], *(pc + 12 for pc in second[:turn])], shift)
        for turn in range(len(second))
        for shift in (-24, -12, 0, 12)
    )


def _aligned(first: tuple[int, ...], second: list[int], shift: int) -> int:
    a = [*first, first[0] + 12]
    b = [pc + shift for pc in second]
    b.append(b[0] + 12)
    far = 1 << 20
    row = [far] * len(b)
    for i, x in enumerate(a):
        new = [0] * len(b)
        for j, y in enumerate(b):
            step = abs(x - y)
            if i == 0 and j == 0:
                new[j] = step
            else:
                new[j] = step + min(
                    row[j], new[j - 1] if j else far, row[j - 1] if j else far
                )  # fmt: skip
        row = new
    return row[-1] - abs(a[-1] - b[-1])


def bass_move(first: Chord, second: Chord) -> int:
    """Semitones of the bass, the shorter way, −5 to 6."""
    move = (second.bass_note.pc - first.bass_note.pc) % 12
    return move if move <= 6 else move - 12


def common(first: Chord, second: Chord) -> int:
    """How many pitch classes two chords share."""
    return len(first.pitch_classes & second.pitch_classes)
