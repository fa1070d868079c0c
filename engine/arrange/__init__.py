"""Arranging: from a song and its reading to the part of both hands, and the rules it is held to."""

from engine.arrange.build import arrange
from engine.arrange.ground import Trouble, check_song, song_troubles
from engine.arrange.keep import changed_bars, keep_bar
from engine.arrange.rules import RULES, Rule, check

__all__ = [
    "RULES",
    "Rule",
    "Trouble",
    "arrange",
    "changed_bars",
    "check",
    "check_song",
    "keep_bar",
    "song_troubles",
]
