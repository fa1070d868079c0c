"""A laid-out score as MusicXML 4.0 (W3C Music Notation Community Group, 2021)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from fractions import Fraction
from math import lcm

from lxml import etree
from lxml.etree import _Element as Element

from engine.exchange.rhythm import TYPES, note_value
from engine.exchange.score import Entry, Head, Mark, MarkKind, Measure, Score, ScorePart, Symbol
from engine.exchange.symbols import kind_and_degrees
from engine.pitch import Note

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
_SIGNS = {
    -3: "triple-flat", -2: "flat-flat", -1: "flat", 0: "natural",
    1: "sharp", 2: "double-sharp", 3: "triple-sharp",
}  # fmt: skip
_MODES = ("major", "minor", "dorian", "phrygian", "lydian", "mixolydian", "locrian")
_SMALL = "9"


def _add(parent: Element, tag: str, text: object = None, /, **attributes: str) -> Element:
    child = etree.SubElement(
        parent, tag, {name.replace("_", "-"): value for name, value in attributes.items()}
    )
    if text is not None:
        child.text = str(text)
    return child


class Use(StrEnum):
    """Who reads the document.

    For `EXCHANGE` it says what is meant: numerals as words, degrees, new systems.
    For `ENGRAVING` it says what is drawn: numerals as harmony under the staff,
    the symbol's text alone, and each system on a page of its own, without the
    section's letter, name and tempo, which stand over it as text.
    """

    EXCHANGE = "exchange"
    ENGRAVING = "engraving"


def score_xml(score: Score, use: Use = Use.EXCHANGE) -> bytes:
    """The score as a MusicXML document in UTF-8."""
    root = etree.Element("score-partwise", version="4.0")
    work = _add(root, "work")
    _add(work, "work-title", _clean(score.title) or "Untitled")
    if score.subtitle:
        _add(root, "movement-title", _clean(score.subtitle))
    identification = _add(root, "identification")
    if score.composer:
        _add(identification, "creator", _clean(score.composer), type="composer")
    if score.rights:
        _add(identification, "rights", _clean(score.rights))
    encoding = _add(identification, "encoding")
    _add(encoding, "software", "Alberti")
    for feature in ("accidental", "beam"):
        _add(encoding, "supports", element=feature, type="yes")
    _add(encoding, "supports", element="print", attribute="new-system", type="yes", value="yes")
    part_list = _add(root, "part-list")
    for n, part in enumerate(score.parts, start=1):
        _part_entry(part_list, part, n)
    for n, part in enumerate(score.parts, start=1):
        _Part(part, _add(root, "part", id=f"P{n}"), symbols=n == 1, use=use).write()
    return etree.tostring(
        root, xml_declaration=True, encoding="UTF-8", doctype=DOCTYPE, pretty_print=True
    )


def _clean(text: str) -> str:
    """Text without characters that XML does not allow."""
    return "".join(sign if sign.isprintable() else " " for sign in text).strip()


def _part_entry(part_list: Element, part: ScorePart, number: int) -> None:
    entry = _add(part_list, "score-part", id=f"P{number}")
    _add(entry, "part-name", part.name, print_object="no")
    _add(entry, "part-abbreviation", part.short, print_object="no")
    instrument = _add(entry, "score-instrument", id=f"P{number}-I1")
    _add(instrument, "instrument-name", part.name)
    midi = _add(entry, "midi-instrument", id=f"P{number}-I1")
    _add(midi, "midi-channel", number)
    _add(midi, "midi-program", part.program)


def divisions_of(part: ScorePart) -> int:
    """Divisions of a quarter note that express every duration and place of the part."""
    places: set[int] = {1}
    for measure in part.measures:
        places.add((4 * measure.meter.bar).denominator)
        places |= {(4 * symbol.onset).denominator for symbol in measure.symbols}
        places |= {(4 * onset).denominator for onset, _ in measure.numerals}
        for staff in measure.staves:
            places |= {(4 * mark.onset).denominator for mark in staff.marks}
            for voice in staff.voices:
                places |= {(4 * entry.written.duration).denominator for entry in voice.entries}
    return lcm(*places)


class _Part:
    """Writes one part; holds what goes on from measure to measure."""

    def __init__(self, part: ScorePart, element: Element, *, symbols: bool, use: Use) -> None:
        self.part = part
        self.engraving = use is Use.ENGRAVING
        self.element = element
        self.symbols = symbols
        self.divisions = divisions_of(part)
        self.staves = len(part.clefs)

    def ticks(self, length: Fraction) -> int:
        ticks = length * 4 * self.divisions
        assert ticks.denominator == 1
        return int(ticks)

    def write(self) -> None:
        measures = _pedal_by_bar(self.part.measures)
        last = len(measures) - 1
        for n, measure in enumerate(measures):
            element = _add(self.element, "measure", number=str(measure.number))
            if measure.new_line and n:
                new = "new_page" if self.engraving else "new_system"
                _add(element, "print", **{new: "yes"})
            self._attributes(element, measure, first=n == 0)
            self._heading(element, measure)
            self._staves(element, measure)
            if n == last and self.part.ends:
                barline = _add(element, "barline", location="right")
                _add(barline, "bar-style", "light-heavy")
            elif n < last and measures[n + 1].letter:
                barline = _add(element, "barline", location="right")
                _add(barline, "bar-style", "light-light")

    def _attributes(self, element: Element, measure: Measure, *, first: bool) -> None:
        if not (first or measure.shows_key or measure.shows_meter):
            return
        attributes = _add(element, "attributes")
        if first:
            _add(attributes, "divisions", self.divisions)
        if measure.shows_key or first:
            key = _add(attributes, "key")
            _add(key, "fifths", measure.key.signature)
            if measure.key.mode in _MODES:
                _add(key, "mode", measure.key.mode)
        if measure.shows_meter or first:
            symbol = {(2, 2): "cut"}.get((measure.meter.count, measure.meter.unit))
            time = _add(attributes, "time", **({"symbol": symbol} if symbol else {}))
            head, _, _ = measure.meter.name.partition("/")
            _add(time, "beats", head)
            _add(time, "beat-type", measure.meter.unit)
        if first:
            if self.staves > 1:
                _add(attributes, "staves", self.staves)
            for n, clef in enumerate(self.part.clefs, start=1):
                numbered = {"number": str(n)} if self.staves > 1 else {}
                entry = _add(attributes, "clef", **numbered)
                _add(entry, "sign", clef[0])
                _add(entry, "line", clef[1:])

    def _heading(self, element: Element, measure: Measure) -> None:
        if not self.symbols:
            return
        if measure.letter and not self.engraving:
            direction = _add(element, "direction", placement="above")
            kind = _add(direction, "direction-type")
            _add(kind, "rehearsal", measure.letter, enclosure="square", font_weight="bold")
            if measure.section and measure.section != measure.letter:
                kind = _add(direction, "direction-type")
                _add(kind, "words", _clean(measure.section), font_weight="bold")
            self._staff(direction, 1)
        if measure.tempo is not None and not (self.engraving and measure.letter):
            direction = _add(element, "direction", placement="above")
            kind = _add(direction, "direction-type")
            metronome = _add(kind, "metronome", parentheses="no")
            base, dots = note_value(measure.meter.beat)
            _add(metronome, "beat-unit", TYPES[base])
            for _ in range(dots):
                _add(metronome, "beat-unit-dot")
            _add(metronome, "per-minute", _number(measure.tempo))
            self._staff(direction, 1)
            _add(direction, "sound", tempo=_number(measure.tempo * float(measure.meter.beat * 4)))

    def _staff(self, element: Element, number: int) -> None:
        if self.staves > 1:
            _add(element, "staff", number)

    def _staves(self, element: Element, measure: Measure) -> None:
        voices_before = 0
        for n, staff in enumerate(measure.staves, start=1):
            symbols = measure.symbols if self.symbols and n == 1 else ()
            numerals = measure.numerals if n == len(measure.staves) else ()
            for m, voice in enumerate(staff.voices):
                if n > 1 or m:
                    _add(_add(element, "backup"), "duration", self.ticks(measure.meter.bar))
                waiting = _Waiting(
                    symbols if m == 0 else (),
                    numerals if m == 0 else (),
                    staff.marks if m == 0 else (),
                )
                for entry in voice.entries:
                    self._waiting(element, waiting, entry.written.onset, entry.written.end, n)
                    self._entry(element, entry, voices_before + voice.number, n)
                self._waiting(element, waiting, measure.meter.bar, None, n)
            voices_before += max(4, len(staff.voices))

    def _waiting(
        self,
        element: Element,
        waiting: _Waiting,
        at: Fraction,
        until: Fraction | None,
        staff: int,
    ) -> None:
        """Write what stands from a place up to another, each with its offset from here."""
        for onset, item in waiting.taken(until):
            offset = self.ticks(onset - at)
            if isinstance(item, Symbol):
                self._symbol(element, item, offset, staff)
            elif isinstance(item, Mark):
                self._mark(element, item, offset, staff)
            else:
                self._numeral(element, item, offset, staff)

    def _numeral(self, element: Element, text: str, offset: int, staff: int) -> None:
        if self.engraving:
            harmony = _add(element, "harmony", placement="below")
            numeral = _add(harmony, "numeral")
            _add(numeral, "numeral-root", 1, text=text)
            _add(harmony, "kind", "major", text="")
            self._end_direction(harmony, offset, staff)
            return
        direction = _add(element, "direction", placement="below")
        kind = _add(direction, "direction-type")
        _add(kind, "words", text, font_size=_SMALL)
        self._end_direction(direction, offset, staff)

    def _end_direction(self, direction: Element, offset: int, staff: int) -> None:
        if offset:
            _add(direction, "offset", offset)
        self._staff(direction, staff)

    def _mark(self, element: Element, mark: Mark, offset: int, staff: int) -> None:
        if mark.kind is MarkKind.PEDAL and mark.text == "change":
            for text in ("up", "down"):
                self._mark(element, Mark(mark.onset, mark.kind, text), offset, staff)
            return
        direction = _add(element, "direction", placement="below")
        kind = _add(direction, "direction-type")
        if mark.kind is MarkKind.DYNAMIC:
            _add(_add(kind, "dynamics"), mark.text)
        elif mark.kind is MarkKind.HAIRPIN:
            word = {"<": "crescendo", ">": "diminuendo", "end": "stop"}[mark.text]
            _add(kind, "wedge", type=word, number="1")
        elif mark.kind is MarkKind.PEDAL:
            word = {"down": "start", "up": "stop"}[mark.text]
            _add(kind, "pedal", type=word, line="yes", sign="no")
        else:
            _add(kind, "words", _clean(mark.text))
        self._end_direction(direction, offset, staff)

    def _symbol(self, element: Element, symbol: Symbol, offset: int, staff: int) -> None:
        harmony = _add(element, "harmony", placement="above")
        chord = symbol.chord
        if chord is None:
            root = _add(harmony, "root")
            _add(root, "root-step", "C", text="")
            _add(harmony, "kind", "none", text="N.C.")
        else:
            _named_note(harmony, "root", chord.root)
            kind, degrees = kind_and_degrees(chord)
            text = chord.suffix.replace("#", "♯").replace("b", "♭")
            _add(harmony, "kind", kind, text=text)
            if chord.bass is not None:
                _named_note(harmony, "bass", chord.bass)
            for degree in () if self.engraving else degrees:
                entry = _add(harmony, "degree", print_object="no")
                _add(entry, "degree-value", degree.value)
                _add(entry, "degree-alter", degree.alter)
                _add(entry, "degree-type", degree.type)
        self._end_direction(harmony, offset, staff)

    def _entry(self, element: Element, entry: Entry, voice: int, staff: int) -> None:
        if entry.is_rest and entry.hidden:
            forward = _add(element, "forward")
            _add(forward, "duration", self.ticks(entry.written.duration))
            _add(forward, "voice", voice)
            self._staff(forward, staff)
            return
        for n, head in enumerate(entry.heads or (None,)):
            self._note(element, entry, head, voice, staff, first=n == 0)

    def _note(
        self,
        element: Element,
        entry: Entry,
        head: Head | None,
        voice: int,
        staff: int,
        *,
        first: bool,
    ) -> None:
        written = entry.written
        note = _add(element, "note")
        if not first:
            _add(note, "chord")
        if head is None:
            _add(note, "rest", **({"measure": "yes"} if written.whole_bar else {}))
        else:
            _pitch(note, head)
        _add(note, "duration", self.ticks(written.duration))
        if head is not None:
            if head.tie_in:
                _add(note, "tie", type="stop")
            if head.tie_out:
                _add(note, "tie", type="start")
        _add(note, "voice", voice)
        if not written.whole_bar:
            _add(note, "type", written.type)
            for _ in range(written.dots):
                _add(note, "dot")
        if head is not None and head.accidental is not None:
            sign = head.accidental
            marks = {"cautionary": "yes"} if sign.courtesy else {}
            _add(note, "accidental", _SIGNS[sign.alter], **marks)
        if written.tuplet is not None:
            change = _add(note, "time-modification")
            _add(change, "actual-notes", written.tuplet.actual)
            _add(change, "normal-notes", written.tuplet.normal)
            _add(change, "normal-type", TYPES[written.tuplet.unit])
        if head is not None and head.slash:
            _add(note, "stem", "none")
            _add(note, "notehead", "slash")
        self._staff(note, staff)
        if first:
            for level, word in enumerate(entry.beams, start=1):
                _add(note, "beam", word, number=str(level))
        self._notations(note, entry, head, first=first)
        if entry.lyric and first:
            lyric = _add(note, "lyric")
            _add(lyric, "text", _clean(entry.lyric))

    def _notations(self, note: Element, entry: Entry, head: Head | None, *, first: bool) -> None:
        notations = etree.Element("notations")
        if head is not None and head.tie_in:
            _add(notations, "tied", type="stop")
        if head is not None and head.tie_out:
            _add(notations, "tied", type="start")
        if first and entry.opens_tuplet:
            bracket = "no" if entry.beams and entry.written.type == "eighth" else "yes"
            _add(notations, "tuplet", type="start", number="1", bracket=bracket)
        if first and entry.closes_tuplet:
            _add(notations, "tuplet", type="stop", number="1")
        if head is not None and head.finger is not None:
            _add(_add(notations, "technical"), "fingering", head.finger)
        if head is not None and head.rolled:
            _add(notations, "arpeggiate")
        if len(notations):
            note.append(notations)


def _pedal_by_bar(measures: Sequence[Measure]) -> list[Measure]:
    """Pedal changes on a downbeat close at the bar line before: no line begins with a stub.

    A change is written as an end and a beginning, which every reader draws.
    """
    out = list(measures)
    for n in range(1, len(out)):
        *upper, lowest = out[n].staves
        change = Mark(Fraction(0), MarkKind.PEDAL, "change")
        if change not in lowest.marks:
            continue
        marks = tuple(replace(m, text="down") if m == change else m for m in lowest.marks)
        out[n] = replace(out[n], staves=(*upper, replace(lowest, marks=marks)))
        *upper, lowest = out[n - 1].staves
        end = Mark(out[n - 1].meter.bar, MarkKind.PEDAL, "up")
        staff = replace(lowest, marks=(*lowest.marks, end))
        out[n - 1] = replace(out[n - 1], staves=(*upper, staff))
    return out


class _Waiting:
    """Symbols, numerals and marks of a staff that are still to be written, by place."""

    def __init__(
        self,
        symbols: tuple[Symbol, ...],
        numerals: tuple[tuple[Fraction, str], ...],
        marks: tuple[Mark, ...],
    ) -> None:
        items: list[tuple[Fraction, int, Symbol | Mark | str]] = []
        items += [(symbol.onset, 0, symbol) for symbol in symbols]
        items += [(mark.onset, 1, mark) for mark in marks]
        items += [(onset, 2, text) for onset, text in numerals]
        self.items = sorted(items, key=lambda item: item[:2], reverse=True)

    def taken(self, until: Fraction | None) -> list[tuple[Fraction, Symbol | Mark | str]]:
        out: list[tuple[Fraction, Symbol | Mark | str]] = []
        while self.items and (until is None or self.items[-1][0] < until):
            onset, _, item = self.items.pop()
            out.append((onset, item))
        return out


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _named_note(harmony: Element, tag: str, note: Note) -> None:
    entry = _add(harmony, tag)
    _add(entry, f"{tag}-step", note.letter)
    if note.alter:
        _add(entry, f"{tag}-alter", note.alter)


def _pitch(note: Element, head: Head) -> None:
    pitch = _add(note, "pitch")
    _add(pitch, "step", head.pitch.note.letter)
    if head.pitch.note.alter:
        _add(pitch, "alter", head.pitch.note.alter)
    _add(pitch, "octave", head.pitch.octave)
