"""Melody text in another key, and the range a voice needs.

Reading the text is `engine.song.abc`'s; here its notes are rewritten where
they stand, everything else of the text stays as it was typed.
"""

from __future__ import annotations

import re
from dataclasses import replace

from engine.errors import Place
from engine.key import Key
from engine.pitch import Interval, Note, Pitch
from engine.song import Song, transpose
from engine.song.abc_fields import read_abc_key
from engine.song.build import rebuilt
from engine.song.melody import melody_notes

_PIECE = re.compile(
    r"(?P<remark>%[^\n]*)"
    r"|(?P<quoted>\"[^\"\n]*\"|![^!\n]*!|\+[^+\n]*\+)"
    r"|\[K:(?P<inline>[^\]\n]*)\]"
    r"|^K:(?P<line>[^\n%]*)"
    r"|(?P<field>\[[A-Za-z]:[^\]\n]*\]|^[A-Za-z]:(?![|:])[^\n]*)"
    r"|(?P<bar>\|)"
    r"|(?P<sign>[_^=]*)(?P<letter>[A-Ga-g])(?P<octave>[,']*)",
    re.MULTILINE,
)
_SIGNS = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0}
_WRITTEN = {value: sign for sign, value in _SIGNS.items()}


def transpose_melody(text: str, key: Key, interval: Interval) -> str:
    """A melody's ABC text an interval away, read in `key`, to be read in that key moved.

    Accidentals are written only where the new key's signature or an earlier
    one in the bar doesn't say it already. The text must be one that can be read.
    """
    state = _State(key, interval)
    return _PIECE.sub(state.piece, text)


class _State:
    """One pass over a text: the keys and accidentals that hold before and after the move."""

    def __init__(self, key: Key, interval: Interval) -> None:
        self.asked = interval
        self.held: dict[tuple[str, int], int] = {}
        self.said: dict[tuple[str, int], int] = {}
        self.begin(key)

    def begin(self, key: Key) -> None:
        self.old, self.new = key, key.moved(self.asked)
        self.held.clear()
        self.said.clear()
        fifths = self.new.tonic.fifths - key.tonic.fifths
        semitones = self.asked.semitones
        self.interval = Interval((7 * semitones - fifths) // 12, semitones)

    def piece(self, match: re.Match[str]) -> str:
        if match["letter"]:
            return self.note(match)
        if match["bar"]:
            self.held.clear()
            self.said.clear()
        named = match["inline"] if match["inline"] is not None else match["line"]
        if named is not None:
            key = read_abc_key(named, Place())
            if key is None:
                return match[0]
            self.begin(key)
            mode = "" if self.new.mode == "major" else f" {self.new.mode}"
            field = f"K:{self.new.tonic.name}{mode}"
            return f"[{field}]" if match["inline"] is not None else field
        return match[0]

    def note(self, match: re.Match[str]) -> str:
        letter, marks = match["letter"], match["octave"]
        octave = (5 if letter.islower() else 4) + marks.count("'") - marks.count(",")
        name = letter.upper()
        if match["sign"]:
            self.held[name, octave] = _SIGNS[match["sign"]]
        alter = self.held.get((name, octave), _signature(self.old, name))
        return self.written(Pitch(Note.of(name, alter), octave) + self.interval)

    def written(self, pitch: Pitch) -> str:
        if abs(pitch.note.alter) > 2:
            pitch = Pitch.near(self.new.spell(pitch.note.pc), pitch.midi)
        name, octave, alter = pitch.note.letter, pitch.octave, pitch.note.alter
        sign = ""
        if self.said.get((name, octave), _signature(self.new, name)) != alter:
            sign = _WRITTEN[alter]
            self.said[name, octave] = alter
        if octave >= 5:
            return sign + name.lower() + "'" * (octave - 5)
        return sign + name + "," * (4 - octave)


def _signature(key: Key, letter: str) -> int:
    return next(note.alter for note in key.scale if note.letter == letter)


def transpose_song(song: Song, interval: Interval) -> Song:
    """The song an interval away, its melodies too."""
    keys = {bar.section: bar.key for bar in song.bars if bar.in_section == 1}
    moved = transpose(song, interval)
    sections = [
        replace(section, melody=transpose_melody(section.melody, keys[at], interval))
        if section.melody
        else section
        for at, section in enumerate(moved.sections)
    ]
    return rebuilt(moved, sections=sections)


def voice_range(song: Song) -> tuple[Pitch, Pitch] | None:
    """The lowest and highest note of the melody, or None where there is none."""
    pitches = sorted((note.pitch for note in melody_notes(song)), key=lambda each: each.midi)
    return (pitches[0], pitches[-1]) if pitches else None


def interval_for_voice(song: Song, low: int, high: int) -> Interval | None:
    """The interval that lets the melody lie best in a range of MIDI numbers, or None without one.

    Notes outside the range count most, then length spent near its ends, then how far it moves.
    """
    notes = melody_notes(song)
    if not notes:
        return None

    def cost(shift: int) -> tuple[float, float, int]:
        outside = near = 0.0
        for note in notes:
            midi, length = note.pitch.midi + shift, float(note.duration)
            outside += length * max(0, low - midi, midi - high)
            near += length * (min(midi - low, high - midi) < 2)
        return outside, near, abs(shift)

    return Interval.of_semitones(min(range(-12, 13), key=cost))
