"""Symbols and intervals as they come out in a key that had to be respelled."""

from __future__ import annotations

import re

from engine.chord import Chord, find_bass, parse_chord
from engine.errors import ChordError
from engine.key import Key
from engine.pitch import NOTE_PATTERN, Interval

_SIDE = 6  # fifths from the tonic; farther away a chord is spelled from the other side
_ROOT = re.compile(NOTE_PATTERN)


def spelled(key: Key, interval: Interval) -> Interval:
    """The interval as it comes out where the key is respelled: up an augmented fourth may be d5."""
    fifths = key.moved(interval).tonic.fifths - key.tonic.fifths
    return Interval((7 * interval.semitones - fifths) // 12, interval.semitones)


def _leading(chord: Chord) -> bool:
    return (chord.alter(3), chord.alter(5)) == (-1, -1)


def _by_degree(chord: Chord, interval: Interval, key: Key) -> Chord:
    """The chord on the root its degree asks for, where only a double accidental forbade it."""
    above = chord.root.fifths + interval.fifths - key.tonic.fifths
    if abs(above) <= _SIDE or _leading(chord):
        return chord
    turned = chord.turned(above > 0)
    return turned if abs(turned.root.alter) > 1 else chord


def moved_symbol(typed: str, chord: Chord, interval: Interval, key: Key) -> str:
    """A typed symbol an interval away in `key`, its suffix and its kind of accidentals as typed.

    Leading-tone chords apart, no root gets a double accidental, and one that was written
    so as to have none (A for the lowered second degree of A flat) is spelled by its degree
    again where it can be.
    """
    moved = _by_degree(chord, interval, key).moved(interval)
    if not _leading(moved):
        moved = moved.plainer
    pretty = "♯" in typed or "♭" in typed
    root = _ROOT.match(typed)
    if root is None:
        return moved.symbol
    named, end = find_bass(typed, root.end(), len(typed))
    suffix = typed[root.end() : end].rstrip()
    name = moved.root.symbol if pretty else moved.root.name
    bass = ""
    if named and moved.bass is not None:
        bass = "/" + (moved.bass.symbol if pretty else moved.bass.name)
    symbol = name + suffix + bass
    try:
        return symbol if parse_chord(symbol) == moved else moved.symbol
    except ChordError:
        return moved.symbol
