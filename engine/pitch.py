"""Spelled pitch on the line of fifths.

A `Note` is a spelled pitch class, held as its place on the line of fifths
(… B♭ −2, F −1, C 0, G 1, D 2 …); a `Pitch` is a note in an octave (C4 is middle
C, MIDI 60); an `Interval` is a number of letter steps and of semitones, so that
an augmented second and a minor third stay different things.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from engine.errors import PitchError, Place

LETTERS = "CDEFGAB"
_LETTER_FIFTHS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
_FIFTHS_LETTER = "FCGDAEB"
_LETTER_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
_ACCIDENTALS = {"#": 1, "♯": 1, "b": -1, "♭": -1, "x": 2, "𝄪": 2, "𝄫": -2, "♮": 0}
NOTE_PATTERN = r"[A-G](?:[#♯]?[x𝄪]|[#♯]{1,3}|[b♭]{1,3}|𝄫|♮)?"
_NOTE = re.compile(rf"({NOTE_PATTERN})")
_PITCH = re.compile(rf"({NOTE_PATTERN})(-?\d+)")
_COUNTS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven"}
_SIZES = ("unison", "second", "third", "fourth", "fifth", "sixth", "seventh")
_QUALITIES = {
    "M": "major", "m": "minor", "A": "augmented", "d": "diminished",
    "AA": "doubly augmented", "dd": "doubly diminished",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Interval:
    """A directed interval: `steps` letters and `semitones`, both negative downwards."""

    steps: int
    semitones: int

    @property
    def fifths(self) -> int:
        """How far it moves a note on the line of fifths."""
        return 7 * self.semitones - 12 * self.steps

    def __add__(self, other: Interval) -> Interval:
        return Interval(self.steps + other.steps, self.semitones + other.semitones)

    def __neg__(self) -> Interval:
        return Interval(-self.steps, -self.semitones)

    @property
    def name(self) -> str:
        """`P5`, `m3`, `A2`, `d7`, `-M2`; doubled letters for doubly altered ones."""
        if self.steps < 0 or (self.steps == 0 and self.semitones < 0):
            return f"-{(-self).name}"
        octaves, step = divmod(self.steps, 7)
        off = self.semitones - 12 * octaves - _LETTER_SEMITONES[step]
        if step in (0, 3, 4):
            quality = "P" if off == 0 else ("A" * off if off > 0 else "d" * -off)
        elif off >= 0:
            quality = "M" if off == 0 else "A" * off
        else:
            quality = "m" if off == -1 else "d" * (-off - 1)
        return f"{quality}{self.steps + 1}"

    @property
    def words(self) -> str:
        """Its size for people: `a minor third`, `a fifth`, `an octave and a major second`."""
        octaves, step = divmod(abs(self.steps), 7)
        quality = Interval(step, abs(self.semitones) - 12 * octaves).name[:-1]
        named = "" if quality == "P" else f"{_QUALITIES.get(quality, quality)} "
        rest = f"{named}{_SIZES[step]}"
        rest = f"{'an' if rest[0] == 'a' else 'a'} {rest}"
        if not octaves:
            return rest
        whole = "an octave" if octaves == 1 else f"{_COUNTS.get(octaves, octaves)} octaves"
        return whole if (quality, step) == ("P", 0) else f"{whole} and {rest}"

    @classmethod
    def parse(cls, text: str) -> Interval:
        """Read `P5`, `m3`, `-M2`, `A4`, `d5`, or a signed number of semitones.

        Raises PitchError.
        """
        match = re.fullmatch(r"([+-]?)(P|M|m|A{1,2}|d{1,2})(\d{1,2})", text.strip())
        if match and match[3].strip("0"):
            sign, quality, number = match[1], match[2], int(match[3])
            octaves, step = divmod(number - 1, 7)
            base = 12 * octaves + _LETTER_SEMITONES[step]
            perfect = step in (0, 3, 4)
            offsets = (
                {"P": 0, "A": 1, "AA": 2, "d": -1, "dd": -2}
                if perfect
                else {"M": 0, "m": -1, "A": 1, "AA": 2, "d": -2, "dd": -3}
            )
            if quality in offsets:
                interval = cls(number - 1, base + offsets[quality])
                return -interval if sign == "-" else interval
        if re.fullmatch(r"[+-]?\d{1,2}", text.strip()):
            return cls.of_semitones(int(text))
        raise PitchError(
            f"“{text}” is not an interval",
            "write one like m3, P5, -M2, A4, or a number of semitones",
            Place(1, max(1, len(text)), text=text),
        )

    @classmethod
    def of_semitones(cls, semitones: int) -> Interval:
        """The usual name of a number of semitones (a tritone is an augmented fourth)."""
        sign = -1 if semitones < 0 else 1
        octaves, rest = divmod(abs(semitones), 12)
        step = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)[rest]
        return cls(sign * (step + 7 * octaves), semitones)


@dataclass(frozen=True, slots=True)
class Note:
    """A spelled pitch class, held as its place on the line of fifths (C is 0)."""

    fifths: int

    @property
    def letter(self) -> str:
        return _FIFTHS_LETTER[(self.fifths + 1) % 7]

    @property
    def alter(self) -> int:
        """Sharps (positive) or flats (negative)."""
        return (self.fifths + 1) // 7

    @property
    def pc(self) -> int:
        """Pitch class 0–11."""
        return self.fifths * 7 % 12

    @property
    def step(self) -> int:
        """Letter as 0–6 from C."""
        return self.fifths * 4 % 7  # a fifth is four letters

    @property
    def name(self) -> str:
        """ASCII: `G#`, `Bb`, `Fx`, `Bbb`."""
        return _note_name(self.fifths)

    @property
    def symbol(self) -> str:
        """For people: `G♯`, `B♭`, `Fx`, `B♭♭`."""
        return self.letter + self.name[1:].replace("#", "♯").replace("b", "♭")

    def __add__(self, interval: Interval) -> Note:
        return Note(self.fifths + interval.fifths)

    def __sub__(self, interval: Interval) -> Note:
        return Note(self.fifths - interval.fifths)

    def to(self, other: Note) -> Interval:
        """The ascending interval, less than an octave in letters, up to `other`."""
        steps = (other.step - self.step) % 7
        semitones = (other.fifths - self.fifths + 12 * steps) // 7
        return Interval(steps, semitones)

    @classmethod
    def of(cls, letter: str, alter: int = 0) -> Note:
        return cls(_LETTER_FIFTHS[letter] + 7 * alter)

    @classmethod
    def parse(cls, text: str) -> Note:
        """Read `C`, `F#`, `B♭`, `Fx`, `Abb`. Raises PitchError."""
        match = _NOTE.fullmatch(text.strip())
        if not match:
            raise PitchError(
                f"“{text}” is not a note name",
                "write a letter A to G with #, b, x or bb after it",
                Place(1, max(1, len(text)), text=text),
            )
        return _note_of_match(match[1])

    def __str__(self) -> str:
        return self.name


@lru_cache(maxsize=256)
def _note_name(fifths: int) -> str:
    letter = _FIFTHS_LETTER[(fifths + 1) % 7]
    alter = (fifths + 1) // 7
    if alter >= 0:
        return letter + "#" * (alter % 2) + "x" * (alter // 2)
    return letter + "b" * -alter


@lru_cache(maxsize=256)
def _note_of_match(text: str) -> Note:
    return Note.of(text[0], sum(_ACCIDENTALS[sign] for sign in text[1:]))


def spelled_near(pc: int, centre: int, low: int = -5, high: int = 6) -> Note:
    """The spelling of pitch class `pc` between `low` and `high` fifths of `centre`.

    The default window, ♭2 to ♯4 around a tonic, is that of ps13 (Meredith
    2006, Journal of New Music Research 35(2)).
    """
    for fifths in range(centre + low, centre + high + 1):
        if fifths * 7 % 12 == pc:
            return Note(fifths)
    raise AssertionError("a window of twelve fifths holds every pitch class")


@dataclass(frozen=True, slots=True)
class Pitch:
    """A note in an octave; C4 is middle C. `octave` follows the letter: B♯3 sounds as C4."""

    note: Note
    octave: int

    @property
    def midi(self) -> int:
        """MIDI number; C4 is 60."""
        place = self.note.fifths
        return 12 * (self.octave + 1) + _LETTER_SEMITONES[place * 4 % 7] + (place + 1) // 7

    @property
    def step(self) -> int:
        """Letter steps from C0."""
        return 7 * self.octave + self.note.step

    @property
    def name(self) -> str:
        """ASCII: `Ab3`."""
        return f"{self.note.name}{self.octave}"

    @property
    def symbol(self) -> str:
        """For people: `A♭3`."""
        return f"{self.note.symbol}{self.octave}"

    def __add__(self, interval: Interval) -> Pitch:
        note = self.note + interval
        return Pitch(note, (self.step + interval.steps) // 7)

    def __sub__(self, interval: Interval) -> Pitch:
        return self + -interval

    def to(self, other: Pitch) -> Interval:
        """The directed interval to `other`."""
        return Interval(other.step - self.step, other.midi - self.midi)

    @classmethod
    def parse(cls, text: str) -> Pitch:
        """Read `Ab3`, `F#4`. Raises PitchError."""
        match = _PITCH.fullmatch(text.strip())
        if not match:
            raise PitchError(
                f"“{text}” is not a pitch",
                "write a note name and an octave, like Ab3; middle C is C4",
                Place(1, max(1, len(text)), text=text),
            )
        return cls(_note_of_match(match[1]), int(match[2]))

    @classmethod
    def at_or_above(cls, note: Note, midi: int) -> Pitch:
        """The lowest pitch of that note whose MIDI number is at least `midi`."""
        low = cls(note, midi // 12 - 2)
        return cls(note, low.octave + -((low.midi - midi) // 12))

    @classmethod
    def near(cls, note: Note, midi: int) -> Pitch:
        """The pitch of that note nearest to a MIDI number (the lower of two equals)."""
        return cls.at_or_above(note, midi - 6)

    def __str__(self) -> str:
        return self.name
