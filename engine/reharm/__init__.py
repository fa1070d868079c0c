"""Reharmonisation: other chords for a place, each for a reason, checked against the melody."""

from engine.reharm.apply import apply, apply_like, apply_span, like_places
from engine.reharm.moves import MOVES, SongMove
from engine.reharm.objections import why_not
from engine.reharm.spans import suggest_span
from engine.reharm.suggest import suggest
from engine.reharm.value import SpanSuggestion, Suggestion, Technique

__all__ = [
    "MOVES",
    "SongMove",
    "SpanSuggestion",
    "Suggestion",
    "Technique",
    "apply",
    "apply_like",
    "apply_span",
    "like_places",
    "suggest",
    "suggest_span",
    "why_not",
]
