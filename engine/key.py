"""Keys: a tonic and a mode, their scales, signatures and spellings."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from engine.errors import KeyNameError, Place
from engine.pitch import NOTE_PATTERN, Interval, Note, spelled_near

#: A mode on C has this many sharps in its signature (negative: flats).
MODES = {
    "major": 0,
    "minor": -3,
    "dorian": -2,
    "phrygian": -4,
    "lydian": 1,
    "mixolydian": -1,
    "locrian": -5,
}
_MINOR = frozenset({"minor", "dorian", "phrygian", "locrian"})
_ALIASES = {
    "": "major", "maj": "major", "ionian": "major", "m": "minor", "min": "minor",
    "moll": "minor", "dur": "major", "aeolian": "minor", "mi": "minor",
}  # fmt: skip
_KEY = re.compile(rf"\s*({NOTE_PATTERN}|[a-g](?:[#♯b♭])?)\s*[- ]?\s*([A-Za-z]*)\s*")


@dataclass(frozen=True, slots=True)
class Key:
    """A tonic and one of the seven diatonic modes."""

    tonic: Note
    mode: str = "major"

    @property
    def signature(self) -> int:
        """Sharps (positive) or flats (negative) at the clef."""
        return self.tonic.fifths + MODES[self.mode]

    @property
    def is_minor(self) -> bool:
        """Whether the tonic chord is minor (or diminished, in locrian)."""
        return self.mode in _MINOR

    @property
    def scale(self) -> tuple[Note, ...]:
        """The seven notes from the tonic up (natural minor in minor)."""
        return _scale(self)

    def degree(self, note: Note) -> tuple[int, int]:
        """Degree 1–7 by letter, and its alteration in semitones against the scale."""
        degree = (note.step - self.tonic.step) % 7
        return degree + 1, note.alter - self.scale[degree].alter

    def contains(self, note: Note) -> bool:
        return note in self.scale

    def spell(self, pc: int) -> Note:
        """The usual spelling of a pitch class: the scale's own, else nearest the tonic.

        Window ♭2 to ♯4 of the tonic (ps13, Meredith 2006).
        """
        for note in self.scale:
            if note.pc == pc:
                return note
        return spelled_near(pc, self.tonic.fifths)

    @property
    def parallel(self) -> Key:
        """The key of the other mode on its tonic, respelled where it would pass seven signs."""
        return Key(self.tonic, "major" if self.is_minor else "minor").moved(Interval(0, 0))

    def moved(self, interval: Interval) -> Key:
        """The key an interval away, respelled where its signature would pass seven."""
        key = Key(self.tonic + interval, self.mode)
        while key.signature > 7:
            key = Key(Note(key.tonic.fifths - 12), key.mode)
        while key.signature < -7:
            key = Key(Note(key.tonic.fifths + 12), key.mode)
        return key

    @property
    def name(self) -> str:
        """ASCII: `Ab major`."""
        return f"{self.tonic.name} {self.mode}"

    @property
    def symbol(self) -> str:
        """For people: `A♭ major`."""
        return f"{self.tonic.symbol} {self.mode}"

    @property
    def short(self) -> str:
        """`Ab` or `Abm`; other modes by name."""
        if self.mode == "major":
            return self.tonic.name
        return f"{self.tonic.name}m" if self.mode == "minor" else self.name

    @classmethod
    def parse(cls, text: str) -> Key:
        """Read `Ab major`, `F# minor`, `Am`, `a`, `D dorian`. Raises KeyNameError."""
        match = _KEY.fullmatch(text)
        if match:
            name, word = match[1], match[2]
            if word and word not in ("M", "m"):
                word = word.lower()
            mode = "major" if word == "M" else _ALIASES.get(word, word)
            if name[0].islower() and not word:
                mode = "minor"
            if mode in MODES:
                key = cls(Note.parse(name[0].upper() + name[1:]), mode)
                if abs(key.signature) <= 7:
                    return key
                better = key.moved(Interval(0, 0))
                raise KeyNameError(
                    f"{key.name} would need {abs(key.signature)} accidentals in its signature",
                    f"write {better.name}",
                    Place(1, max(1, len(text)), text=text),
                )
        raise KeyNameError(
            f"“{text}” is not a key",
            "write a note and a mode, like “Ab major” or “D dorian”",
            Place(1, max(1, len(text)), text=text),
        )

    def __str__(self) -> str:
        return self.name


@lru_cache(maxsize=512)
def _scale(key: Key) -> tuple[Note, ...]:
    first = key.signature - 1
    notes = [Note(first + n) for n in range(7)]
    return tuple(sorted(notes, key=lambda note: (note.step - key.tonic.step) % 7))
