"""Arranging: from a song and its reading to the part of both hands, and the rules it is held to."""

from engine.arrange.build import arrange
from engine.arrange.ground import Trouble, check_song, song_troubles
from engine.arrange.rules import RULES, Rule, check

__all__ = ["RULES", "Rule", "Trouble", "arrange", "check", "check_song", "song_troubles"]
