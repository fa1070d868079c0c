"""Harmony: what each chord is in its key, where it goes, and which key it is."""

from engine.harmony.context import Step
from engine.harmony.distance import chord_distance, key_distance
from engine.harmony.motion import Move, common_tones, movement
from engine.harmony.numeral import bass_member, display_numeral
from engine.harmony.profiles import key_correlations
from engine.harmony.read import read_chord, read_progression
from engine.harmony.regions import find_key
from engine.harmony.value import ChordReading, KeyFinding, Reading, Region
from engine.harmony.whole import analyse
from engine.harmony.words import Category, Function

__all__ = [
    "Category",
    "ChordReading",
    "Function",
    "KeyFinding",
    "Move",
    "Reading",
    "Region",
    "Step",
    "analyse",
    "bass_member",
    "chord_distance",
    "common_tones",
    "display_numeral",
    "find_key",
    "key_correlations",
    "key_distance",
    "movement",
    "read_chord",
    "read_progression",
]
