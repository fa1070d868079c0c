"""What hands can hold: shapes and their choice, low-interval limits, movement between chords."""

from engine.hands.leading import leading_size, movement
from engine.hands.lowlimits import least_bass, low_limits, muddy, too_low
from engine.hands.search import NEVER, cheapest
from engine.hands.shapes import ShapeSet, choose_shapes, member_sets, shape_moves, shapes
from engine.hands.tones import Tones, tones_of

__all__ = [
    "NEVER",
    "ShapeSet",
    "Tones",
    "cheapest",
    "choose_shapes",
    "leading_size",
    "least_bass",
    "low_limits",
    "member_sets",
    "movement",
    "muddy",
    "shape_moves",
    "shapes",
    "tones_of",
    "too_low",
]
