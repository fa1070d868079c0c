"""Symbols and intervals as they come out in a key that had to be respelled."""

from __future__ import annotations

import re

from engine.chord import Chord, parse_chord
from engine.errors import ChordError
from engine.key import Key
from engine.pitch import NOTE_PATTERN, Interval

_ROOT = re.compile(NOTE_PATTERN)
_BASS = re.compile(rf"/({NOTE_PATTERN})$")


def spelled(key: Key, interval: Interval) -> Interval:
    """The interval as it comes out where the key is respelled: up an augmented fourth may be d5."""
    fifths = key.moved(interval).tonic.fifths - key.tonic.fifths
    return Interval((7 * interval.semitones - fifths) // 12, interval.semitones)


def moved_symbol(typed: str, chord: Chord, interval: Interval) -> str:
    """A typed symbol an interval away, its suffix and its kind of accidentals as typed."""
    moved = chord.moved(interval)
    pretty = "♯" in typed or "♭" in typed
    root = _ROOT.match(typed)
    slash = _BASS.search(typed)
    if root is None:
        return moved.symbol
    suffix = typed[root.end() : slash.start() if slash else len(typed)]
    name = moved.root.symbol if pretty else moved.root.name
    bass = ""
    if slash and moved.bass is not None:
        bass = "/" + (moved.bass.symbol if pretty else moved.bass.name)
    symbol = name + suffix + bass
    try:
        return symbol if parse_chord(symbol) == moved else moved.symbol
    except ChordError:
        return moved.symbol
