"""Reharmonisation: other chords for a place, each for a reason, checked against the melody."""

from engine.reharm.suggest import suggest
from engine.reharm.value import Suggestion, Technique

__all__ = ["Suggestion", "Technique", "suggest"]
