"""An ABC 2.1 file to what it holds: the first tune's header, melody and chord symbols."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import TypeVar

from engine.chord import is_no_chord, parse_chord
from engine.errors import FileError, InputError, Place, SongError
from engine.exchange.read.repeats import Signs, played_order
from engine.exchange.read.source import Source, SourceChord, SourceNote, Sure
from engine.key import Key
from engine.meter import Meter
from engine.song.abc import read_abc
from engine.song.abc_fields import read_abc_key, read_abc_meter, read_abc_unit
from engine.song.abc_value import AbcBar, AbcMusic, AbcNote
from engine.song.syllables import together, verse_of

_Thing = TypeVar("_Thing")
_FIELD = re.compile(r"([A-Za-z]):(?![|:])\s*(.*)")
_HEADER = frozenset("ABCDFGHIKLMmNOPQRrSsTUVWXZ")


class _Tune:
    """The lines of one tune: header fields, and body lines with their numbers."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.key: Key | None = None
        self.meter: Meter | None = Meter.of(4, 4)
        self.unit: Fraction | None = None
        self.tempo = ""
        self.title = ""
        self.composer = ""
        self.body: list[tuple[int, str]] = []
        self.more: list[str] = []  # the titles of the file's other tunes
        self.in_body = False
        self.first_voice = ""
        self.voice = ""
        self.left: list[str] = []

    def read(self, text: str) -> None:
        started = False
        for number, raw in enumerate(text.splitlines(), start=1):
            line = raw.partition("%")[0].rstrip()
            match = _FIELD.fullmatch(line)
            if match and match[1] == "X":
                if started:
                    self.more.append(match[2].strip()[:40])
                started = True
                continue
            if self.more and match and match[1] == "T" and match[2].strip():
                self.more[-1] = match[2].strip()[:40]
            if self.more or not line:
                continue
            if match and match[1] in _HEADER and self._field(match[1], match[2], number, raw):
                started = True
                continue
            if started and self.in_body and self.voice in ("", self.first_voice):
                self.body.append((number, raw))

    def _field(self, name: str, value: str, number: int, raw: str) -> bool:
        """Take in a field line; False where it is to be read with the notes."""
        place = Place(3, max(1, len(raw) - 2), number, raw, self.file)
        if name == "V":
            self.voice = value.split()[0] if value.split() else ""
            if self.body and not self.first_voice:
                self.first_voice = "the unnamed one"
            if self.first_voice and self.voice != self.first_voice:
                self.left.append(f"the voice {self.voice[:20]}")
            self.first_voice = self.first_voice or self.voice
            return True
        if self.in_body:
            return name not in "KML"
        if name == "T" and not self.title:
            self.title = value.strip()[:200]
        elif name == "C" and not self.composer:
            self.composer = value.strip()[:200]
        elif name == "M":
            self.meter = read_abc_meter(value, place)
        elif name == "L":
            self.unit = read_abc_unit(value, place)
        elif name == "Q":
            self.tempo = value
        elif name == "P":
            self.left.append("the order of parts (P:)")
        elif name == "K":
            self.key = read_abc_key(value, place)
            self.in_body = True
        return True


def read_abc_file(text: str, file: str = "") -> Source:
    """What the first tune of an ABC file holds. Raises FileError, SongError with their place."""
    tune = _Tune(file)
    tune.read(text)
    if not tune.in_body:
        raise FileError(
            "the tune has no K: field, with which its notes would begin",
            "write the header X:, T:, M:, L:, K: before the notes", Place(file=file),
        )  # fmt: skip
    source = Source("ABC 2.1")
    source.title, source.composer = tune.title, tune.composer
    meter = tune.meter or Meter.of(4, 4)
    key = tune.key or Key.parse("C major")
    try:
        body = "\n".join(line for _, line in tune.body)
        music = read_abc(body, key, meter, tune.unit, pickup=False)
    except SongError as error:
        raise error.at(_real_place(error.place, tune)) from None
    source.keys.append((Fraction(0), key))
    source.meters.append((Fraction(0), meter))
    if tune.meter is None:
        source.left("free meter: bars are as long as they are written")
    tempo = _tempo(tune.tempo, meter)
    if tempo is not None:
        source.tempi.append((Fraction(0), tempo))
    if tune.more:
        names = ", ".join(tune.more[:6]) + (", …" if len(tune.more) > 6 else "")
        noun = "tune" if len(tune.more) == 1 else "tunes"
        source.left(f"{len(tune.more)} more {noun} of the file: {names}")
    for place in music.unsung:
        source.left(f"a syllable without a note in line {_real_place(place, tune).line}")
    for text_left in dict.fromkeys([*tune.left, *music.left]):
        source.left(text_left)
    _play(music, source, tune)
    return source


def _real_place(place: Place | None, tune: _Tune) -> Place:
    if place is None or not tune.body:
        return Place(file=tune.file)
    number, raw = tune.body[min(place.line, len(tune.body)) - 1]
    return replace(place, line=number, text=raw, file=tune.file)


def _tempo(text: str, meter: Meter) -> float | None:
    """Quarters a minute of a `Q:` field: `1/4=120`, `3/8=80`, `120`."""
    plain = re.sub(r"\"[^\"]*\"", "", text)
    match = re.search(r"(\d{1,2})/(\d{1,2})\s*=\s*(\d{1,3})", plain)
    if match and int(match[2]):
        return float(Fraction(int(match[1]), int(match[2])) * 4 * int(match[3])) or None
    match = re.fullmatch(r"\s*(\d{1,3})\s*", plain)
    return float(int(match[1]) * meter.beat * 4) or None if match else None


def _measures(music: AbcMusic) -> list[tuple[Fraction, Fraction, Signs]]:
    """Start, end and signs of the measures between bar lines."""
    edges: list[tuple[Fraction, str]] = [(Fraction(0), "")]
    for bar in music.bars:
        if bar.onset == edges[-1][0]:
            edges[-1] = (bar.onset, edges[-1][1] + _text_of(bar))
        else:
            edges.append((bar.onset, _text_of(bar)))
    if edges[-1][0] < music.end:
        edges.append((music.end, ""))
    out: list[tuple[Fraction, Fraction, Signs]] = []
    ending: frozenset[int] = frozenset()
    for (low, left), (high, right) in pairwise(edges):
        digits = re.search(r"[1-9][0-9,.-]*$", left)
        if digits:
            ending = frozenset(int(n) for n in re.findall(r"[1-9]", digits[0]))
        elif re.search(r"\|\||\|\]|\[\||:", left):
            ending = frozenset()
        begins = re.search(r"\|:+\d*$|^:+$|:\|*:+\d*$", left) is not None
        ends = re.match(r"[\[\]|]*?:+(\||\]|:|$|\d)", right) is not None
        ends = ends and re.fullmatch(r"[\[\]|]+:+\d*", right) is None
        out.append((low, high, Signs(begins, ends, 2, ending)))
    return out


def _text_of(bar: AbcBar) -> str:
    return bar.text.replace(" ", "")


def _play(music: AbcMusic, source: Source, tune: _Tune) -> None:
    """Notes and symbols in the order they are played, repeats written out."""
    measures = _measures(music)
    order = played_order([signs for _, _, signs in measures])
    if len(order) != len(measures):
        text = f"repeats written out: {len(measures)} measures become {len(order)}"
        source.remarks.append((Fraction(-1), Sure.UNDERSTOOD, text))
    at = Fraction(0)
    held: int | None = None
    times, played = Counter(order), Counter[int]()
    changed = [onset for onset, _ in music.changes]
    struck = [note.onset for note in music.notes]
    named = [symbol.onset for symbol in music.symbols]
    for index in order:
        low, high, _ = measures[index]
        verse = played[index], times[index]
        played[index] += 1
        source.bars.append(at)
        for _, change in _within(music.changes, changed, low, high):
            if isinstance(change, Key):
                if source.keys[-1][1] != change:
                    source.keys.append((at, change))
            elif source.meters[-1][1] != change:
                source.meters.append((at, change))
        for note in _within(music.notes, struck, low, high):
            if note.pitches and note.duration:
                sung = replace(note, words=verse_of(note.words, *verse))
                held = _add(source, sung, at + note.onset - low, held)
        for symbol in _within(music.symbols, named, low, high):
            _symbol(source, symbol.text, at + symbol.onset - low)
        at += high - low
    source.end = at
    if not source.melody and not source.chords:
        raise FileError(
            "the tune has no notes", "write notes after K:", Place(file=tune.file)
        )  # fmt: skip


def _within(
    things: Sequence[_Thing], onsets: Sequence[Fraction], low: Fraction, high: Fraction
) -> Sequence[_Thing]:
    """What begins in a measure, of things in order with their onsets."""
    return things[bisect_left(onsets, low) : bisect_left(onsets, high)]


def _add(source: Source, note: AbcNote, onset: Fraction, held: int | None) -> int | None:
    """Add the highest of the pitches, joined to a note `held` into it; returns what is held on."""
    pitch = max(note.pitches, key=lambda p: p.midi)
    if not 0 <= pitch.midi <= 127:
        return None
    last = source.melody[-1] if source.melody else None
    if last is not None and last.end == onset and held == last.midi == pitch.midi:
        length, words = last.duration + note.duration, together(last.words, note.words)
        source.melody[-1] = replace(last, duration=length, words=words)
    else:
        source.melody.append(SourceNote(onset, note.duration, pitch.midi, pitch, words=note.words))
    return pitch.midi if note.tied else None


def _symbol(source: Source, text: str, onset: Fraction) -> None:
    try:
        chord = None if is_no_chord(text) else parse_chord(_plain(text))
    except InputError:
        source.left(f"the text “{text[:40]}” over the notes", onset)
        return
    source.chords.append(SourceChord(onset, chord))


def _plain(text: str) -> str:
    """A symbol without an alternative in brackets (`G(Em)`), its bass a capital (`Am/e`)."""
    match = re.fullmatch(r"([A-G][^()\s]*)\(\s*[A-G][^()]*\)", text)
    shown = match[1] if match else text
    return re.sub(r"/([a-g])([#b]?)$", lambda bass: f"/{bass[1].upper()}{bass[2]}", shown)
