"""Songs as values, the chart grammar and the song file."""

from engine.song.value import Bar, BarSettings, Hand, Section, Settings, Slot, SlotKind, Song

__all__ = ["Bar", "BarSettings", "Hand", "Section", "Settings", "Slot", "SlotKind", "Song"]
