"""Harmony: what each chord is in its key, where it goes, and which key it is."""

from engine.harmony.numeral import display_numeral
from engine.harmony.read import read_chord
from engine.harmony.value import (
    Category,
    ChordReading,
    Function,
    KeyFinding,
    Move,
    Reading,
    Region,

)
from engine.harmony.whole import analyse, find_key

__all__ = [
    "Category",
    "ChordReading",
    "Function",
    "KeyFinding",
    "Move",
    "Reading",
    "Region",
    "analyse",
    "display_numeral",
    "find_key",
    "read_chord",
]
