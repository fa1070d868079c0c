"""What a figure's tokens mean on a harmony: pitches of the right hand, offsets of the left.

Pitches are MIDI numbers, shapes pitches from low to high. `n`, `p` and `A` depend on the notes
around them and are not told here.
"""

from __future__ import annotations

from functools import lru_cache

from engine.hands import Tones

Shape = tuple[int, ...]

#: Tokens that count steps of the scale above the root.
_SCALE_STEPS = {"9": 1, "6": 5}


def right_pitch(tones: Tones, shape: Shape, token: str) -> int | None:
    """The pitch of `1 2 3 4`, `6`, `9` or `s` on a shape; None where there is no such note.

    Positions the shape hasn't go an octave up from its lowest notes; sixth and
    second above the root stay within an octave of the lowest note.
    """
    if token in _SCALE_STEPS:
        pitch = shape[0] + (tones.root - shape[0]) % 12
        for _ in range(_SCALE_STEPS[token]):
            pitch = tones.step_from(pitch, 1)
        return pitch if pitch - shape[0] <= 12 else pitch - 12
    if not token.isdigit():
        return _fourth(tones, shape)
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
