"""Chord labels in Harte's syntax as this project's chords.

Harte, Sandler, Abdallah & Gómez, "Symbolic representation of musical chords: a proposed syntax
for text annotations", ISMIR 2005: a root, a shorthand, further degrees in brackets, a bass degree.
"""

from __future__ import annotations

import re

from engine.chord import Chord, Member
from engine.pitch import Note

#: The shorthands as degrees; those above the seventh as annotations of popular songs use them.
SHORTHANDS = {
    "": "1", "1": "1", "5": "1 5", "maj": "1 3 5", "min": "1 b3 5", "dim": "1 b3 b5",
    "aug": "1 3 #5", "sus2": "1 2 5", "sus4": "1 4 5", "maj6": "1 3 5 6", "min6": "1 b3 5 6",
    "7": "1 3 5 b7", "maj7": "1 3 5 7", "min7": "1 b3 5 b7", "minmaj7": "1 b3 5 7",
    "dim7": "1 b3 b5 bb7", "hdim7": "1 b3 b5 b7", "9": "1 3 5 b7 9", "maj9": "1 3 5 7 9",
    "min9": "1 b3 5 b7 9", "11": "1 3 5 b7 9 11", "min11": "1 b3 5 b7 9 11",
    "13": "1 3 5 b7 9 11 13", "maj13": "1 3 5 7 9 11 13", "min13": "1 b3 5 b7 9 11 13",
}  # fmt: skip
_LABEL = re.compile(r"([A-G][#b]*):([a-z]*\d*)(?:\(([^)]*)\))?(?:/([#b]*\d+))?")


def _member(text: str) -> Member:
    digits = text.lstrip("#b")
    signs = text[: len(text) - len(digits)]
    return Member(int(digits), signs.count("#") - signs.count("b"))


def chord_of(label: str) -> Chord | None:
    """The chord of a label, or None for `N`."""
    if label == "N":
        return None
    match = _LABEL.fullmatch(label)
    if match is None:
        raise ValueError(f"{label!r} is not a chord label")
    root = Note.parse(match[1])
    names = [*SHORTHANDS[match[2]].split(), *(match[3] or "").replace(" ", "").split(",")]
    members = tuple(sorted({_member(name) for name in names if name}))
    bass = root + _member(match[4]).interval if match[4] else None
    return Chord(root, members, None if bass == root else bass)
