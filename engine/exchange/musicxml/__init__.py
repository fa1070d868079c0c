"""A laid-out score as MusicXML 4.0 (W3C Music Notation Community Group, 2021)."""

from engine.exchange.musicxml.document import score_xml
from engine.exchange.musicxml.part import divisions_of
from engine.exchange.musicxml.use import Use

__all__ = ["Use", "divisions_of", "score_xml"]
