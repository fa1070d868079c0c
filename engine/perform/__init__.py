"""From the written part to timed events: velocity, timing, pedal, tempo."""

from engine.perform.build import BOTH_HANDS, perform
from engine.perform.tempo import TempoMap, ritard_start
from engine.perform.value import PedalMove, Performance, Played, TempoPoint

__all__ = [
    "BOTH_HANDS",
    "PedalMove",
    "Performance",
    "Played",
    "TempoMap",
    "TempoPoint",
    "perform",
    "ritard_start",
]
