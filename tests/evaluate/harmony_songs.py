"""Reads annotated popular songs: Harte labels to chords, keys, and bars.

The songs are the McGill Billboard annotations (Burgoyne, Wild & Fujinaga, ISMIR 2011) in the
Humdrum form of the Coordinated Corpus of Popular Musics (2023). They stand beside a checkout of
this project, not in it; `songs()` is empty where they are not.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from engine.chord import Chord, Member
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Note

_FILE = Path(__file__).parents[3] / "shared" / "data" / "pop_progressions_train.jsonl"
# Harte, Sandler, Abdallah & Gómez, ISMIR 2005, table 1, and the corpus's own additions.
_SHORTHAND = {
    "maj": "1 3 5", "min": "1 b3 5", "dim": "1 b3 b5", "aug": "1 3 #5", "maj7": "1 3 5 7",
    "min7": "1 b3 5 b7", "7": "1 3 5 b7", "dim7": "1 b3 b5 bb7", "hdim7": "1 b3 b5 b7",
    "minmaj7": "1 b3 5 7", "maj6": "1 3 5 6", "min6": "1 b3 5 6", "9": "1 3 5 b7 9",
    "maj9": "1 3 5 7 9", "min9": "1 b3 5 b7 9", "sus4": "1 4 5", "sus2": "1 2 5", "5": "1 5",
    "1": "1", "11": "1 3 5 b7 9 11", "min11": "1 b3 5 b7 9 11", "maj11": "1 3 5 7 9 11",
    "13": "1 3 5 b7 9 11 13", "maj13": "1 3 5 7 9 11 13", "min13": "1 b3 5 b7 9 11 13", "": "1",
}  # fmt: skip


def _member(text: str) -> Member:
    degree = int(re.sub(r"\D", "", text))
    return Member(degree, text.count("#") - text.count("b"))


def chord_of(label: str) -> Chord | None:
    """The chord of a Harte label; None for `N`."""
    match = re.fullmatch(r"([A-G][#b]*):([^(/]*)(?:\(([^)]*)\))?(?:/([#b]*\d+))?", label)
    if not match:
        return None
    root = Note.parse(match[1])
    members = {_member(text) for text in _SHORTHAND[match[2]].split()}
    for text in (match[3] or "").split(","):
        if text.strip():
            members.add(_member(text.strip()))
    bass = None
    if match[4]:
        wanted = _member(match[4])
        bass = root + Member(wanted.degree, wanted.alter).interval
    return Chord(root, tuple(sorted(members)), bass if bass != root else None)


def key_of(name: str) -> Key:
    """The key of `A-` (major) or `f#` (minor)."""
    tonic = Note.parse(name[0].upper() + name[1:].replace("-", "b"))
    return Key(tonic, "minor" if name[0].islower() else "major")


def _length(text: str) -> Fraction:
    head = text.rstrip(".")
    base = Fraction(2) if head == "0" else Fraction(1, int(head))
    dots = len(text) - len(head)
    return base * (2 - Fraction(1, 2**dots))


@dataclass(frozen=True)
class SongChord:
    bar: int
    onset: Fraction
    duration: Fraction
    chord: Chord | None
    key: Key
    numeral: str


@dataclass(frozen=True)
class AnnotatedSong:
    name: str
    meter: Meter
    chords: tuple[SongChord, ...]

    @property
    def keys(self) -> set[Key]:
        return {chord.key for chord in self.chords}


def songs() -> list[AnnotatedSong]:
    """All songs, or none where the file is missing."""
    if not _FILE.exists():
        return []
    found: list[AnnotatedSong] = []
    for line in _FILE.read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        chords: list[SongChord] = []
        for number, (key, slots) in enumerate(row["bars"], start=1):
            onset = Fraction(0)
            for length, numeral, label in slots:
                duration = _length(length)
                chords.append(
                    SongChord(number, onset, duration, chord_of(label), key_of(key), numeral)
                )
                onset += duration
        meter = row["meter"] if re.fullmatch(r"\d+/\d+", row["meter"] or "") else "4/4"
        found.append(AnnotatedSong(row["id"], Meter.parse(meter), tuple(chords)))
    return found
