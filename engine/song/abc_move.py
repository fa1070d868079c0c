"""Melodies in another key: the note text moved, everything else of it kept as typed."""

from __future__ import annotations

import re
from collections.abc import Iterator

from engine.chord import parse_chord
from engine.errors import InputError, Place, SongError
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Interval, Pitch
from engine.song.abc import read_abc
from engine.song.abc_fields import read_abc_key
from engine.song.abc_value import AbcHead, AbcSymbol
from engine.song.respell import moved_symbol
from engine.song.splice import cut

_MODES = r"(?:maj|min|ion|aeo|dor|phr|lyd|mix|loc|m(?![a-z]))[a-z]*"
_KEY_FIELD = re.compile(rf"(?im)(?:^|\[)K:[ \t]*([A-G][#b]?(?:[ \t]*{_MODES})?)")
_SIGNS = {0: "=", 1: "^", 2: "^^", -1: "_", -2: "__"}


def moved_melody(text: str, key: Key, meter: Meter, interval: Interval) -> str:
    """The note text an interval away, read in `key` and written in that key moved.

    Accidentals are written where the new key needs them or the writer had
    typed one. Chord symbols and `K:` fields move too. Raises SongError where
    the text cannot be read or a note would leave the nine octaves.
    """
    return cut(text, _Mover(text, key, meter, interval).pieces())


class _Mover:
    """One pass over heads, bar lines and keys in the order of the text."""

    def __init__(self, text: str, key: Key, meter: Meter, interval: Interval) -> None:
        self.interval = interval
        self.key = key.moved(interval)
        self.held: dict[tuple[str, int], int] = {}
        self.music = read_abc(text, key, meter)
        remarks = [range(*match.span()) for match in re.finditer(r"%[^\n]*", text)]
        self.keys = [
            match
            for match in _KEY_FIELD.finditer(text)
            if not any(match.start() in remark for remark in remarks)
        ]
        self.starts = [0]
        for line in text.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))

    def _offset(self, place: Place) -> int:
        return self.starts[place.line - 1] + place.column - 1

    def pieces(self) -> Iterator[tuple[int, int, str]]:
        """What changes, as (start, end, new text)."""
        events: list[tuple[int, AbcHead | AbcSymbol | re.Match[str] | None]] = [
            *((self._offset(head.place), head) for head in self.music.heads),
            *((self._offset(bar.place), None) for bar in self.music.bars),
            *((match.start(), match) for match in self.keys),
            *((self._offset(symbol.place), symbol) for symbol in self.music.symbols),
        ]
        for start, event in sorted(events, key=lambda event: event[0]):
            if isinstance(event, AbcHead):
                yield start, start + event.place.length, self._head(event)
            elif isinstance(event, AbcSymbol):
                yield from self._symbol(start, event.text)
            elif event is None:
                self.held.clear()
            else:
                yield from self._key_field(event)

    def _head(self, head: AbcHead) -> str:
        pitch = head.pitch + self.interval
        if abs(pitch.note.alter) > 2:
            pitch = Pitch.near(self.key.spell(pitch.midi % 12), pitch.midi)
        if not 0 <= pitch.octave <= 9:
            raise SongError("the melody would leave the piano", "move it less far", head.place)
        letter, alter = pitch.note.letter, pitch.note.alter
        usual = next(note.alter for note in self.key.scale if note.letter == letter)
        sign = ""
        if head.signed or self.held.get((letter, pitch.octave), usual) != alter:
            sign = _SIGNS[alter]
            self.held[letter, pitch.octave] = alter
        if pitch.octave >= 5:
            return sign + letter.lower() + "'" * (pitch.octave - 5)
        return sign + letter + "," * (4 - pitch.octave)

    def _key_field(self, match: re.Match[str]) -> Iterator[tuple[int, int, str]]:
        key = read_abc_key(match[1], Place())
        if key is not None:
            self.key = key.moved(self.interval)
            self.held.clear()
            mode = {"major": "", "minor": "m"}.get(self.key.mode, f" {self.key.mode}")
            yield match.start(1), match.end(1), self.key.tonic.name + mode

    def _symbol(self, start: int, text: str) -> Iterator[tuple[int, int, str]]:
        """A chord symbol over the notes; words in quotes that are none stay."""
        try:
            chord = parse_chord(text)
        except InputError:
            return
        yield start + 1, start + 1 + len(text), moved_symbol(text, chord, self.interval, self.key)
