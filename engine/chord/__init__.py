"""Chords as values and the grammar of their symbols."""

from engine.chord.bass import find_bass
from engine.chord.kinds import Kind, kinds
from engine.chord.repair import nearest_symbol
from engine.chord.symbol import is_no_chord, parse_chord
from engine.chord.value import Chord, Member, member_places, places_up

__all__ = [
    "Chord",
    "Kind",
    "Member",
    "find_bass",
    "is_no_chord",
    "kinds",
    "member_places",
    "nearest_symbol",
    "parse_chord",
    "places_up",
]
