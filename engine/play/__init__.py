"""Sound: the transport, its outputs, the player a screen owns, rendering, and doctor's facts."""

from engine.play.fluid import Voice
from engine.play.player import Player
from engine.play.score import Score, score_of
from engine.play.transport import Options, State, Where

__all__ = ["Options", "Player", "Score", "State", "Voice", "Where", "score_of"]
