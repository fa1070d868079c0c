"""One measure of one part of a MusicXML score: notes, symbols, key, meter, signs, as they sound."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from engine.chord import Chord, parse_chord
from engine.errors import FileError, InputError, Place
from engine.exchange.read.guard import whole
from engine.exchange.read.lyrics import read_lyrics
from engine.exchange.read.repeats import Signs
from engine.exchange.read.source import SourceChord, SourceNote
from engine.exchange.symbols import Degree, chord_members
from engine.key import MODES, Key
from engine.meter import Meter
from engine.pitch import LETTERS, Interval, Note, Pitch

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

MOST_DIVISIONS = 1_000_000
LONGEST_MEASURE = Fraction(64)
_UNISON = Interval(0, 0)
#: Note values of tempo marks in quarters.
_UNITS = {
    "whole": Fraction(4), "half": Fraction(2), "quarter": Fraction(1), "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
}  # fmt: skip


@dataclass(slots=True)
class Found:
    """What one measure of one part holds; times from its start."""

    length: Fraction = Fraction(0)
    notes: list[tuple[SourceNote, int, bool, bool]] = field(default_factory=list)  # staff, ties
    chords: list[SourceChord] = field(default_factory=list)
    key: Key | None = None
    meter: Meter | None = None
    tempi: list[tuple[Fraction, float]] = field(default_factory=list)
    rehearsal: str = ""
    pedal: list[Fraction] = field(default_factory=list)
    signs: Signs = field(default_factory=Signs)
    implicit: bool = False
    left: list[str] = field(default_factory=list)


@dataclass(slots=True)
class PartState:
    """What holds from measure to measure in a part."""

    divisions: int = 1
    endings: frozenset[int] = frozenset()
    extending: set[int] = field(default_factory=set)  # verses whose syllable is held
    sounds: Interval = _UNISON  # above what is written, without octaves
    octaves: int = 0


def _fail(message: str, node: Element, file: str) -> FileError:
    line: Any = node.sourceline
    place = Place(1, 1, line or 1, file=file)
    return FileError(message, "save the score again as MusicXML", place)


def read_measure(measure: Element, state: PartState, file: str) -> Found:
    """What a measure holds; `state` goes on to the part's next. Raises FileError with its line."""
    found = Found(implicit=measure.get("implicit") == "yes")
    at = last = Fraction(0)
    for node in measure:
        match node.tag:
            case "attributes":
                _attributes(node, state, found, file)
            case "note":
                length = _note(node, at, last, state, found, file)
                if length is not None:
                    last, at = at, at + length
            case "backup":
                at = max(Fraction(0), at - _duration(node, state, file))
            case "forward":
                at += _duration(node, state, file)
            case "harmony":
                _harmony(node, at, state, found)
            case "direction":
                _direction(node, at, found)
            case "sound":
                _sound(node, at, found)
            case "barline":
                _barline(node, state, found)
        found.length = max(found.length, at)
        if found.length > LONGEST_MEASURE:
            raise _fail("a measure of more than 64 whole notes", node, file)
    found.signs = replace(found.signs, endings=found.signs.endings or state.endings)
    _close_ending(measure, state)
    return found


def _duration(node: Element, state: PartState, file: str) -> Fraction:
    text = (node.findtext("duration") or "").strip()
    try:
        value = Fraction(text)
    except (ValueError, ZeroDivisionError):
        raise _fail(f"“{text[:20]}” is no duration", node, file) from None
    if not 0 <= value <= 10**9:
        raise _fail(f"“{text[:20]}” is no duration", node, file)
    return (value / (4 * state.divisions)).limit_denominator(4 * MOST_DIVISIONS)


def _attributes(node: Element, state: PartState, found: Found, file: str) -> None:
    divisions = node.findtext("divisions")
    if divisions is not None:
        try:
            state.divisions = int(divisions)
        except ValueError:
            raise _fail(f"“{divisions[:20]}” are no divisions", node, file) from None
        if not 0 < state.divisions <= MOST_DIVISIONS:
            raise _fail(f"{state.divisions} divisions of a quarter", node, file)
    fifths = whole(node.findtext("key/fifths"))
    if fifths is not None and abs(fifths) <= 7:
        mode = (node.findtext("key/mode") or "major").strip()
        mode = {"ionian": "major", "aeolian": "minor"}.get(mode, mode)
        mode = mode if mode in MODES else "major"
        found.key = Key(Note(fifths - MODES[mode]), mode)
    beats, unit = node.findtext("time/beats"), node.findtext("time/beat-type")
    if beats and unit:
        try:
            found.meter = Meter.parse(f"{beats.strip()}/{unit.strip()}")
        except InputError:
            found.left.append(f"the meter {beats}/{unit}")
    _transposition(node, state)
    if found.key is not None and state.sounds.semitones:
        found.key = _sounding_key(found.key, state.sounds)


def _transposition(node: Element, state: PartState) -> None:
    """Take in how far the part sounds from what is written."""
    semitones = whole(node.findtext("transpose/chromatic"))
    if semitones is None or abs(semitones) > 24:
        return
    octaves = whole(node.findtext("transpose/octave-change")) or 0
    steps = whole(node.findtext("transpose/diatonic"))
    interval = Interval.of_semitones(semitones)
    if steps is not None and abs(steps) <= 14:
        interval = Interval(steps, semitones)
    more = int(interval.semitones / 12)
    state.sounds = Interval(interval.steps - 7 * more, interval.semitones - 12 * more)
    state.octaves = max(-3, min(3, octaves + more))


def _sounding_key(key: Key, interval: Interval) -> Key:
    """A written key as it sounds, with at most seven signs."""
    tonic = key.tonic + interval
    signs = tonic.fifths + MODES[key.mode]
    if signs > 7:
        tonic = Note(tonic.fifths - 12)
    elif signs < -7:
        tonic = Note(tonic.fifths + 12)
    return Key(tonic, key.mode)


def _note(
    node: Element, at: Fraction, last: Fraction, state: PartState, found: Found, file: str
) -> Fraction | None:
    """Add a note; returns by how much the place moves on, or None for grace and chord notes."""
    if node.find("grace") is not None or node.find("cue") is not None:
        found.left.append("grace notes" if node.find("grace") is not None else "cue notes")
        return None
    length = _duration(node, state, file)
    in_chord = node.find("chord") is not None
    pitch = node.find("pitch")
    if pitch is not None:
        spelled = _pitch(pitch, file) + state.sounds
        spelled = replace(spelled, octave=spelled.octave + state.octaves)
        staff = whole(node.findtext("staff"))
        kinds = {tie.get("type") for tie in node.iterfind("tie")}
        words = read_lyrics(node, state.extending)
        note = SourceNote(last if in_chord else at, length, spelled.midi, spelled, words=words)
        if 0 <= note.midi <= 127 and length:
            number = staff if staff is not None and 0 <= staff < 100 else 1
            found.notes.append((note, number, "stop" in kinds, "start" in kinds))
    elif node.find("unpitched") is not None:
        found.left.append("notes without a pitch")
    return None if in_chord else length


def _pitch(node: Element, file: str) -> Pitch:
    step = (node.findtext("step") or "").strip()
    alter, octave = (node.findtext("alter") or "0").strip(), (node.findtext("octave") or "").strip()
    try:
        sharps, height = float(alter), int(octave)
    except ValueError:
        raise _fail(f"“{step}{alter}{octave}” is no pitch"[:60], node, file) from None
    if step not in LETTERS or not step or not abs(sharps) <= 3 or not 0 <= height <= 9:
        raise _fail(f"“{step} {alter} {octave}” is no pitch"[:60], node, file)
    return Pitch(Note.of(step, round(sharps)), height)


def _harmony(node: Element, at: Fraction, state: PartState, found: Found) -> None:
    offset = whole(node.findtext("offset"))
    if offset is not None:
        at = max(Fraction(0), at + Fraction(offset, 4 * state.divisions))
    kind = node.find("kind")
    if kind is None or node.find("root") is None:
        found.left.append("a numeral or function instead of a chord symbol")
        return
    name = (kind.text or "").strip()
    if name == "none":
        found.chords.append(SourceChord(at, None))
        return
    chord = _chord(node, kind, name)
    if chord is None:
        shown = kind.get("text") or name
        found.left.append(f"the chord kind “{shown[:40]}”")
        return
    found.chords.append(SourceChord(at, chord.moved(state.sounds)))


def _chord(node: Element, kind: Element, name: str) -> Chord | None:
    root = _named(node, "root")
    if root is None:
        return None
    degrees = []
    for degree in node.iterfind("degree"):
        number = whole(degree.findtext("degree-value"))
        alter = whole(degree.findtext("degree-alter") or "0")
        if number is not None and 1 <= number <= 13 and alter is not None and abs(alter) <= 2:
            word = (degree.findtext("degree-type") or "add").strip()
            degrees.append(Degree(number, alter, word))
    members = chord_members(name, degrees)
    if members is None:
        text = kind.get("text")
        try:
            members = parse_chord("C" + (text or "?")).members
        except InputError:
            return None
    if not any(member.degree == 1 for member in members):
        return None
    chord = Chord(root, members)
    bass = _named(node, "bass")
    inversion = whole(node.findtext("inversion"))
    if bass is None and inversion is not None and 0 < inversion < len(members):
        bass = chord.member_notes[inversion][1]
    return replace(chord, bass=bass) if bass is not None and bass != root else chord


def _named(node: Element, tag: str) -> Note | None:
    step = (node.findtext(f"{tag}/{tag}-step") or "").strip()
    alter = (node.findtext(f"{tag}/{tag}-alter") or "0").strip()
    if len(step) != 1 or step not in LETTERS:
        return None
    try:
        sharps = round(float(alter))
    except (ValueError, OverflowError):
        return None
    return Note.of(step, sharps) if abs(sharps) <= 2 else None


def _direction(node: Element, at: Fraction, found: Found) -> None:
    said = len(found.tempi)
    for sound in node.iterfind("sound"):
        _sound(sound, at, found)
    for metronome in node.iterfind("direction-type/metronome"):
        if len(found.tempi) == said:
            _metronome(metronome, at, found)
    for mark in node.iterfind("direction-type/rehearsal"):
        words = [w.text or "" for w in node.iterfind("direction-type/words")]
        name = " ".join(" ".join(words).split()) or (mark.text or "").strip()
        found.rehearsal = name[:80] or found.rehearsal
    for pedal in node.iterfind("direction-type/pedal"):
        if pedal.get("type") in ("start", "change"):
            found.pedal.append(at)
    for word in ("segno", "coda"):
        if node.find(f"direction-type/{word}") is not None:
            found.left.append(f"a jump ({word})")


def _sound(node: Element, at: Fraction, found: Found) -> None:
    tempo = node.get("tempo")
    try:
        value = float(tempo) if tempo else 0.0
    except ValueError:
        return
    if 10 <= value <= 600:
        found.tempi.append((at, value))


def _metronome(node: Element, at: Fraction, found: Found) -> None:
    """Take in a tempo that is only written: a note value and how many of it a minute has."""
    unit = _UNITS.get((node.findtext("beat-unit") or "").strip())
    digits = re.search(r"\d{1,4}(?:\.\d{1,3})?", node.findtext("per-minute") or "")
    if unit is None or digits is None:
        return
    quarters = unit * (2 - Fraction(1, 2 ** min(4, len(node.findall("beat-unit-dot")))))
    if 10 <= float(digits[0]) * quarters <= 600:
        found.tempi.append((at, float(digits[0]) * float(quarters)))


def _barline(node: Element, state: PartState, found: Found) -> None:
    repeat = node.find("repeat")
    if repeat is not None and repeat.get("direction") == "forward":
        found.signs = replace(found.signs, begins=True)
    elif repeat is not None:
        number = min(8, max(2, whole(repeat.get("times")) or 2))
        found.signs = replace(found.signs, ends=True, times=number)
    ending = node.find("ending")
    if ending is not None and ending.get("type") == "start":
        numbers = (ending.get("number") or "1").replace(",", " ").split()
        state.endings = frozenset(int(n) for n in numbers if n in "123456789")
        found.signs = replace(found.signs, endings=state.endings)


def _close_ending(measure: Element, state: PartState) -> None:
    for ending in measure.iterfind("barline/ending"):
        if ending.get("type") in ("stop", "discontinue"):
            state.endings = frozenset()
