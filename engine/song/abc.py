"""The note text of ABC 2.1: notes, rests, chord symbols and bar lines with their times.

After the ABC standard 2.1 (2011), section 4: pitches by letter case and `'` `,`,
accidentals that hold to the bar line, lengths, broken rhythm, tuplets, ties,
chords in brackets, symbols in quotes, inline fields, and section 5.1: words under the
notes. Grace notes, slurs and decorations are read over. It is the form of a
section's `melody`, and the body of an ABC file. Beyond the standard, words may
stand in brackets like other fields, so that a melody can be typed on one line.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache, lru_cache

from engine.errors import Place, SongError
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Note, Pitch
from engine.song.abc_fields import read_abc_key, read_abc_meter, read_abc_unit
from engine.song.abc_value import AbcBar, AbcHead, AbcMusic, AbcNote, AbcSymbol
from engine.song.syllables import aligned

#: Longest note text read, in characters; one note at most as long as this many whole notes;
#: verses under a line.
LONGEST_TEXT = 200_000
LONGEST_NOTE = Fraction(64)
MOST_VERSES = 12

_INNER = re.compile(r"([_^=]*)([A-Ga-g])([,']*)([0-9/]*)(-?)")
_SIGNS = {"^": 1, "^^": 2, "_": -1, "__": -2, "=": 0}
#: (p in the time of q; where the standard says n, q depends on the meter.
_TUPLETS = {2: 3, 3: 2, 4: 3, 5: 0, 6: 2, 7: 0, 8: 3, 9: 0}


@cache
def _token() -> re.Pattern[str]:
    """What can stand in note text, one group each; it is compiled when a melody is read."""
    return re.compile(
        r"(?P<space>[ \t`$]+)"
        r"|(?P<quoted>\"[^\"\n]*\")"
        r"|(?P<decoration>![^!\n]*!|\+[^+\n]*\+)"
        r"|(?P<grace>\{[^}\n]*\})"
        r"|(?P<inline>\[[A-Za-z]:[^\]\n]*\])"
        r"|(?P<bar>:*\|*\[?\|[\]|:]*(?:\[?[1-9][0-9,.-]*)?|:+(?![0-9/])|\[[1-9][0-9,.-]*)"
        r"|(?P<tuplet>\([2-9](?::[0-9]?(?::[0-9]{0,2})?)?)"
        r"|(?P<chord>\[(?:[_^=]*[A-Ga-g][,']*[0-9/]*-?|\"[^\"\n]*\"|\s)+\])(?P<chordlen>[0-9/]*)"
        r"|(?P<note>(?P<sign>[_^=]*)(?P<letter>[A-Ga-g])(?P<octave>[,']*)(?P<length>[0-9/]*))"
        r"|(?P<rest>[zx](?P<restlen>[0-9/]*))"
        r"|(?P<bars>[ZX](?P<barcount>[0-9]*))"
        r"|(?P<tie>-)|(?P<broken><+|>+)|(?P<slur>[()])"
        r"|(?P<overlay>&)"
        r"|(?P<ignored>[.~HLMOPSTuvyJKR]|\\)"
    )


def default_unit(meter: Meter) -> Fraction:
    """The unit length where no `L:` says it: a sixteenth below 3/4, else an eighth (ABC 3.1.7)."""
    return Fraction(1, 16) if meter.bar < Fraction(3, 4) else Fraction(1, 8)


@lru_cache(maxsize=16)
def read_abc(
    text: str, key: Key, meter: Meter, unit: Fraction | None = None, *, pickup: bool = True
) -> AbcMusic:
    """Read a note text. Raises SongError with line and column of what cannot be read.

    A first bar that is shorter than the meter is a pickup: it sounds at the end of its bar,
    or with `pickup` false at the beginning.
    """
    if len(text) > LONGEST_TEXT:
        raise SongError(f"a melody of {len(text)} characters", "keep it below 200,000 characters")
    reader = _Reader(key, meter, unit or default_unit(meter), pickup)
    for number, line in enumerate(text.splitlines(), start=1):
        reader.line(line, number)
    return reader.music()


def open_words(place: Place) -> SongError:
    """Words in brackets whose bracket is not closed."""
    return SongError("the words’ bracket is open", "write ] behind the words", place)


@dataclass(slots=True)
class _Tuplet:
    scale: Fraction
    left: int


@dataclass(slots=True)
class _Stretch:
    """The notes that words are for: those of the line before, or since the last words in it."""

    notes: int = 0  # how many stand before it
    bars: int = 0
    start: Fraction = Fraction(0)
    verses: int = 0  # for which words have come
    text: str = ""  # of words that wait for more of them
    column: int = 0  # at which it begins, from 0
    place: Place = field(default_factory=Place)
    goes_on: bool = False  # the next line of notes belongs to it


@dataclass(slots=True)
class _Reader:
    """One pass over the lines; `at` is the time reached."""

    key: Key
    meter: Meter
    unit: Fraction
    pickup: bool  # whether a short first bar may still come
    at: Fraction = Fraction(0)
    notes: list[AbcNote] = field(default_factory=list)
    heads: list[AbcHead] = field(default_factory=list)
    symbols: list[AbcSymbol] = field(default_factory=list)
    bars: list[AbcBar] = field(default_factory=list)
    changes: list[tuple[Fraction, Key | Meter]] = field(default_factory=list)
    held: dict[tuple[str, int], int] = field(default_factory=dict)
    tuplet: _Tuplet | None = None
    broken: Fraction = Fraction(1)  # what the next note is multiplied by
    left: list[str] = field(default_factory=list)
    skipping: bool = False  # an overlay voice up to the bar line
    here: Place = field(default_factory=Place)
    stretch: _Stretch = field(default_factory=_Stretch)
    unsung: list[Place] = field(default_factory=list)
    in_word: dict[int, bool] = field(default_factory=dict)  # whether a verse's word goes on

    def music(self) -> AbcMusic:
        self._align()
        return AbcMusic(
            tuple(self.notes), tuple(self.symbols), tuple(self.bars), tuple(self.changes),
            self.at, tuple(dict.fromkeys(self.left)), tuple(self.heads), tuple(self.unsung),
        )  # fmt: skip

    def line(self, raw: str, number: int) -> None:
        text = raw.partition("%")[0].rstrip()
        head = re.match(r"(w|[A-Za-z](?=:(?![|:]))):(.*)", text)
        if head:
            self.here = Place(1, max(1, len(text)), number, raw)
            self._field(head[1], head[2], head.start(2))
            return
        if text.startswith("+:"):
            if self.stretch.text:  # more of the words before (ABC 3.3)
                self.stretch.text += " " + text[2:]
            return
        if text and not (self.stretch.goes_on and not self.stretch.verses):
            self._begin_stretch()
        self.stretch.goes_on = text.endswith("\\")
        at = 0
        while at < len(text):
            match = _token().match(text, at)
            if match is None:
                if text.startswith("[w:", at):
                    raise open_words(Place(at + 1, 3, number, raw))
                raise SongError(
                    f"“{text[at]}” is no part of a melody",
                    "write notes like C D2 E/ F, bars with |, and chord symbols in quotes",
                    Place(at + 1, 1, number, raw),
                )
            self.here = Place(at + 1, max(1, match.end() - at), number, raw)
            self._token(match)
            at = match.end()

    def _token(self, match: re.Match[str]) -> None:
        kind = match.lastgroup
        groups = match.groupdict()
        if self.skipping and not groups["bar"]:
            return
        if groups["note"]:
            pitch = self._pitch(groups["sign"], groups["letter"], groups["octave"], 0)
            self._add((pitch,), self._length(groups["length"]))
        elif groups["chord"]:
            self._chord(groups["chord"], groups["chordlen"] or "")
        elif groups["rest"]:
            self._add((), self._length(groups["restlen"] or ""))
        elif groups["bars"]:
            self._whole_bars(int(groups["barcount"] or 1))
        elif groups["bar"]:
            self._bar(groups["bar"])
        elif groups["quoted"]:
            self._quoted(groups["quoted"][1:-1])
        elif groups["inline"]:
            column = self.here.column + 2
            self._field(groups["inline"][1], groups["inline"][3:-1], column)
        elif groups["tuplet"]:
            self._begin_tuplet(groups["tuplet"][1:])
        elif groups["tie"]:
            self._tie()
        elif groups["broken"]:
            self._break(groups["broken"])
        elif groups["overlay"]:
            self.skipping = True
            self.left.append("a second voice in the same bar (&)")
        elif kind in ("grace", "decoration"):
            self.left.append("grace notes" if kind == "grace" else "decorations")

    def _length(self, text: str) -> Fraction:
        if not text:
            return self.unit
        top, *rest = text.split("/")
        value = Fraction(int(top[:6])) if top else Fraction(1)
        for bottom in rest:
            value /= int(bottom[:6]) or 1 if bottom else 2
        if value <= 0 or value * self.unit > LONGEST_NOTE:
            raise SongError(
                f"“{text}” is no length of a note", "write one like 2, 3/2 or /", self.here
            )
        return value * self.unit

    def _pitch(self, sign: str, letter: str, marks: str, offset: int) -> Pitch:
        """The pitch of a head that stands `offset` characters into the token."""
        octave = (5 if letter.islower() else 4) + marks.count("'") - marks.count(",")
        name = letter.upper()
        if not 0 <= octave <= 9:
            raise SongError("the note lies outside the piano", "leave out some , or '", self.here)
        if sign:
            if sign not in _SIGNS:
                raise SongError(f"“{sign}” is no accidental", "write ^ _ = ^^ or __", self.here)
            self.held[name, octave] = _SIGNS[sign]
        alter = self.held.get((name, octave))
        if alter is None:
            alter = next(note.alter for note in self.key.scale if note.letter == name)
        pitch = Pitch(Note.of(name, alter), octave)
        here, length = self.here, len(sign + letter + marks)
        place = replace(here, column=here.column + offset, length=length)
        self.heads.append(AbcHead(pitch, place, bool(sign)))
        return pitch

    def _add(self, pitches: tuple[Pitch, ...], length: Fraction) -> None:
        length *= self.broken
        self.broken = Fraction(1)
        if self.tuplet is not None:
            length *= self.tuplet.scale
            self.tuplet.left -= 1
            if self.tuplet.left <= 0:
                self.tuplet = None
        if pitches and self.stretch.verses:
            self._begin_stretch()
        self.notes.append(AbcNote(self.at, length, pitches))
        self.at += length

    def _chord(self, text: str, length: str) -> None:
        plain = re.sub(r'"[^"]*"', lambda quoted: " " * len(quoted[0]), text)
        inner = list(_INNER.finditer(plain[:-1], 1))
        if not inner:
            return
        pitches = tuple(self._pitch(m[1], m[2], m[3], m.start()) for m in inner)
        own = self._length(inner[0][4]) / self.unit
        self._add(pitches, self._length(length) * own)
        if all(m[5] for m in inner):
            self._tie()

    def _whole_bars(self, count: int) -> None:
        if not 1 <= count <= 999:
            raise SongError(f"a rest of {count} bars", "write Z1 to Z999", self.here)
        for _ in range(count):
            self._add((), self.meter.bar)

    def _bar(self, text: str) -> None:
        if self.pickup and self.at:
            self._put_off(self.meter.bar - self.at)
            self.pickup = False
        self.bars.append(AbcBar(self.at, text, self.here))
        self.held.clear()
        self.tuplet = None
        self.broken = Fraction(1)
        self.skipping = False

    def _put_off(self, time: Fraction) -> None:
        """Move the first bar's notes and symbols to its end, if there is time left in it."""
        if time > 0:
            self.notes = [replace(note, onset=note.onset + time) for note in self.notes]
            self.symbols = [replace(each, onset=each.onset + time) for each in self.symbols]
            self.at += time

    def _quoted(self, text: str) -> None:
        if text[:1] in ("^", "_", "<", ">", "@"):
            self.left.append("annotations")
        elif text.strip():
            self.symbols.append(AbcSymbol(self.at, text.strip(), self.here))

    def _begin_tuplet(self, text: str) -> None:
        parts = [int(part) if part else 0 for part in text.split(":")]
        actual = parts[0]
        normal = parts[1] if len(parts) > 1 and parts[1] else _TUPLETS[actual]
        if not normal:
            normal = 3 if self.meter.compound else 2
        count = parts[2] if len(parts) > 2 and parts[2] else actual
        self.tuplet = _Tuplet(Fraction(normal, actual), count)

    def _tie(self) -> None:
        if self.notes and self.notes[-1].pitches:
            self.notes[-1] = replace(self.notes[-1], tied=True)

    def _break(self, signs: str) -> None:
        if not self.notes or len(signs) > 3:
            raise SongError(f"“{signs}” has no note before it", "write A>B or A<B", self.here)
        less = Fraction(1, 2 ** len(signs))
        first, second = (2 - less, less) if signs[0] == ">" else (less, 2 - less)
        last = self.notes[-1]
        longer = last.duration * first
        self.notes[-1] = replace(last, duration=longer)
        self.at = last.onset + longer
        self.broken = second

    def _field(self, name: str, value: str, column: int) -> None:
        """A field's value that begins at a column from 0."""
        if name == "K":
            key = read_abc_key(value, self.here)
            if key is not None:
                self.key = key
                self.held.clear()
                self.changes.append((self.at, key))
        elif name == "M":
            meter = read_abc_meter(value, self.here)
            if meter is not None:
                self.meter = meter
                self.changes.append((self.at, meter))
        elif name == "L":
            self.unit = read_abc_unit(value, self.here)
        elif name == "w":
            self._words(value, column)

    def _begin_stretch(self) -> None:
        self._align()
        self.stretch = _Stretch(len(self.notes), len(self.bars), self.at)

    def _words(self, text: str, column: int) -> None:
        """A line of words, or of one more verse; its text begins at a column from 0."""
        self._align()
        self.stretch.verses += 1
        self.stretch.text = text or " "
        self.stretch.place, self.stretch.column = self.here, column

    def _align(self) -> None:
        """Give the stretch's notes the syllables that wait."""
        stretch, verse = self.stretch, self.stretch.verses - 1
        text, stretch.text = stretch.text, ""
        if not text:
            return
        if verse >= MOST_VERSES:
            self.left.append(f"verses after {MOST_VERSES}")
            return
        lines = sorted({bar.onset for bar in self.bars[stretch.bars :]} - {stretch.start})
        sung = [n for n in range(stretch.notes, len(self.notes)) if self.notes[n].pitches]
        onsets = [self.notes[n].onset for n in sung]
        found, over = aligned(text, onsets, lines, joined=self.in_word.get(verse, False))
        for n, syllable in zip(sung, found, strict=False):
            words = self.notes[n].words
            words += (None,) * (verse - len(words)) + (syllable,)
            self.notes[n] = replace(self.notes[n], words=words)
            if syllable is not None and syllable.text:
                self.in_word[verse] = syllable.goes_on
        if over is not None:
            length = len(re.split(r"[\s|*_-]", text[over:])[0])
            column = min(stretch.column + over + 1, max(1, len(stretch.place.text)))
            self.unsung.append(replace(stretch.place, column=column, length=max(1, length)))
