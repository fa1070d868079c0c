"""What a figure's tokens mean on a harmony: pitches of the right hand, offsets of the left.

Pitches are MIDI numbers, shapes pitches from low to high. `n`, `p` and `A` depend on the notes
around them and are not told here.
"""

from __future__ import annotations

from functools import lru_cache

from engine.hands import Tones

Shape = tuple[int, ...]


def right_pitch(tones: Tones, shape: Shape, token: str) -> int | None:
    """The pitch of `1 2 3 4`, `9` or `s` on a shape; None where the harmony has no such note.

    Positions the shape hasn't go an octave up from its lowest notes.
    """
    match token:
        case "s":
            return _fourth(tones, shape)
        case "9":
            root = next((pitch for pitch in shape if pitch % 12 == tones.root), shape[0])
            return tones.step_from(root, 1)
        case _:
            octaves, at = divmod(int(token) - 1, len(shape))
            return shape[at] + 12 * octaves


def _fourth(tones: Tones, shape: Shape) -> int | None:
    for pitch in shape:
        if pitch % 12 == tones.third:
            size = (tones.root + 5 - tones.third) % 12
            return pitch + size if size in (1, 2) else None
    return None


@lru_cache(maxsize=4096)
def left_offset(tones: Tones, token: str) -> int:
    """Semitones above the bass of a left-hand token, by members counted from the bass."""
    above = tones.above
    first, second = above[0], above[min(1, len(above) - 1)]
    third = above[2] if len(above) > 2 else 12
    sizes = {
        "R": 0, "3": first, "5": second, "7": third, "8": 12,
        "9": 12 + tones.second, "10": 12 + first, "5-": second - 12,
    }  # fmt: skip
    return sizes[token]
