"""What hands can hold: shapes and their choice, low-interval limits, movement between chords."""

from engine.hands.difficulty import BarDifficulty, Difficulty, difficulty
from engine.hands.fingering import Group, finger_groups, finger_numbers
from engine.hands.fingering_cost import cheapest_fingering, published_costs, published_total
from engine.hands.leading import leading_size, movement
from engine.hands.lowlimits import least_bass, low_limits, muddy, too_low
from engine.hands.search import NEVER, cheapest
from engine.hands.shapes import ShapeSet, choose_shapes, member_sets, shape_moves, shapes
from engine.hands.tones import Tones, tones_of

__all__ = [
    "NEVER",
    "BarDifficulty",
    "Difficulty",
    "Group",
    "ShapeSet",
    "Tones",
    "cheapest",
    "cheapest_fingering",
    "choose_shapes",
    "difficulty",
    "finger_groups",
    "finger_numbers",
    "leading_size",
    "least_bass",
    "low_limits",
    "member_sets",
    "movement",
    "muddy",
    "published_costs",
    "published_total",
    "shape_moves",
    "shapes",
    "tones_of",
    "too_low",
]
