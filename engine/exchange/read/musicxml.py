"""A MusicXML score to what it holds: lead sheets with symbols and melody, or piano scores."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from engine.chord import Chord, parse_chord
from engine.errors import FileError, InputError, Place
from engine.exchange.read.guard import parse_xml
from engine.exchange.read.hands import split_hands
from engine.exchange.read.repeats import Signs, played_order
from engine.exchange.read.source import Source, SourceChord, SourceNote, Sure
from engine.exchange.symbols import Degree, chord_members
from engine.key import MODES, Key
from engine.meter import Meter
from engine.pitch import LETTERS, Note, Pitch
from engine.song import Hand

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

MOST_DIVISIONS = 1_000_000
LONGEST_MEASURE = Fraction(64)


@dataclass(slots=True)
class _Found:
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
class _PartState:
    """What holds from measure to measure in a part."""

    divisions: int = 1
    endings: frozenset[int] = frozenset()
    tied: set[tuple[int, int]] = field(default_factory=set)


def read_musicxml(data: bytes, file: str = "") -> Source:
    """What a MusicXML document holds. Raises FileError where it is none."""
    root = parse_xml(data, file)
    _bare_names(root)
    if root.tag != "score-partwise":
        what = "a score-timewise" if root.tag == "score-timewise" else f"“{root.tag}”"
        raise FileError(
            f"the document is {what}, not a score-partwise", "save it as MusicXML, partwise",
            Place(file=file),
        )  # fmt: skip
    source = Source("MusicXML")
    _titles(root, source)
    names = {
        entry.get("id") or "": (entry.findtext("part-name") or "").strip()
        for entry in root.iterfind("part-list/score-part")
    }
    parts: list[tuple[str, list[_Found]]] = []
    for part in root.iterfind("part"):
        state = _PartState()
        found = [_measure(measure, state, file) for measure in part.iterfind("measure")]
        parts.append((names.get(part.get("id") or "", ""), found))
    if not parts or not parts[0][1]:
        raise FileError("the score has no measures", "import another file", Place(file=file))
    _lay_out(parts, source)
    return source


def _bare_names(root: Element) -> None:
    for node in root.iter():
        if isinstance(node.tag, str) and node.tag.startswith("{"):
            node.tag = node.tag.rpartition("}")[2]


def _titles(root: Element, source: Source) -> None:
    title = root.findtext("work/work-title") or root.findtext("movement-title") or ""
    source.title = " ".join(title.split())[:200]
    for creator in root.iterfind("identification/creator"):
        if creator.get("type") in ("composer", None) and creator.text:
            source.composer = " ".join(creator.text.split())[:200]
            break
    source.rights = " ".join((root.findtext("identification/rights") or "").split())[:200]


def _fail(message: str, node: Element, file: str) -> FileError:
    line: Any = node.sourceline
    place = Place(1, 1, line or 1, file=file)
    return FileError(message, "save the score again as MusicXML", place)


def _measure(measure: Element, state: _PartState, file: str) -> _Found:
    found = _Found(implicit=measure.get("implicit") == "yes")
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


def _duration(node: Element, state: _PartState, file: str) -> Fraction:
    text = (node.findtext("duration") or "").strip()
    try:
        value = Fraction(text)
    except (ValueError, ZeroDivisionError):
        raise _fail(f"“{text[:20]}” is no duration", node, file) from None
    if not 0 <= value <= 10**9:
        raise _fail(f"“{text[:20]}” is no duration", node, file)
    return (value / (4 * state.divisions)).limit_denominator(4 * MOST_DIVISIONS)


def _attributes(node: Element, state: _PartState, found: _Found, file: str) -> None:
    divisions = node.findtext("divisions")
    if divisions is not None:
        try:
            state.divisions = int(divisions)
        except ValueError:
            raise _fail(f"“{divisions[:20]}” are no divisions", node, file) from None
        if not 0 < state.divisions <= MOST_DIVISIONS:
            raise _fail(f"{state.divisions} divisions of a quarter", node, file)
    fifths = (node.findtext("key/fifths") or "").strip()
    if fifths.lstrip("-").isdigit() and abs(int(fifths)) <= 7:
        mode = (node.findtext("key/mode") or "major").strip()
        mode = {"ionian": "major", "aeolian": "minor"}.get(mode, mode)
        mode = mode if mode in MODES else "major"
        found.key = Key(Note(int(fifths) - MODES[mode]), mode)
    beats, unit = node.findtext("time/beats"), node.findtext("time/beat-type")
    if beats and unit:
        try:
            found.meter = Meter.parse(f"{beats.strip()}/{unit.strip()}")
        except InputError:
            found.left.append(f"the meter {beats}/{unit}")
    if node.find("transpose") is not None:
        found.left.append("a transposing instrument: it is read as written")


def _note(
    node: Element, at: Fraction, last: Fraction, state: _PartState, found: _Found, file: str
) -> Fraction | None:
    """Add a note; returns by how much the place moves on, or None for grace and chord notes."""
    if node.find("grace") is not None or node.find("cue") is not None:
        found.left.append("grace notes" if node.find("grace") is not None else "cue notes")
        return None
    length = _duration(node, state, file)
    in_chord = node.find("chord") is not None
    pitch = node.find("pitch")
    if pitch is not None:
        spelled = _pitch(pitch, file)
        staff = (node.findtext("staff") or "1").strip()
        kinds = {tie.get("type") for tie in node.iterfind("tie")}
        note = SourceNote(last if in_chord else at, length, spelled.midi, spelled)
        if 0 <= note.midi <= 127 and length:
            number = int(staff) if staff.isdigit() and len(staff) < 3 else 1
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


def _harmony(node: Element, at: Fraction, state: _PartState, found: _Found) -> None:
    offset = node.findtext("offset")
    if offset is not None and offset.strip().lstrip("-").isdigit() and len(offset) < 12:
        at = max(Fraction(0), at + Fraction(int(offset), 4 * state.divisions))
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
    found.chords.append(SourceChord(at, chord))


def _chord(node: Element, kind: Element, name: str) -> Chord | None:
    root = _named(node, "root")
    if root is None:
        return None
    degrees = []
    for degree in node.iterfind("degree"):
        value, alter = degree.findtext("degree-value"), degree.findtext("degree-alter") or "0"
        if value and value.strip().isdigit() and alter.strip().lstrip("-").isdigit():
            number = int(value[:4])
            if 1 <= number <= 13 and abs(int(alter[:4])) <= 2:
                word = (degree.findtext("degree-type") or "add").strip()
                degrees.append(Degree(number, int(alter[:4]), word))
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
    inversion = (node.findtext("inversion") or "").strip()
    if bass is None and inversion.isdigit() and 0 < int(inversion[:3]) < len(members):
        bass = chord.member_notes[int(inversion[:3])][1]
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


def _direction(node: Element, at: Fraction, found: _Found) -> None:
    for sound in node.iterfind("sound"):
        _sound(sound, at, found)
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


def _sound(node: Element, at: Fraction, found: _Found) -> None:
    tempo = node.get("tempo")
    try:
        value = float(tempo) if tempo else 0.0
    except ValueError:
        return
    if 10 <= value <= 600:
        found.tempi.append((at, value))


def _barline(node: Element, state: _PartState, found: _Found) -> None:
    repeat = node.find("repeat")
    if repeat is not None and repeat.get("direction") == "forward":
        found.signs = replace(found.signs, begins=True)
    elif repeat is not None:
        times = repeat.get("times") or "2"
        number = min(8, max(2, int(times[:2]))) if times.isdigit() else 2
        found.signs = replace(found.signs, ends=True, times=number)
    ending = node.find("ending")
    if ending is not None and ending.get("type") == "start":
        numbers = (ending.get("number") or "1").replace(",", " ").split()
        state.endings = frozenset(int(n) for n in numbers if n.isdigit() and len(n) == 1)
        found.signs = replace(found.signs, endings=state.endings)


def _close_ending(measure: Element, state: _PartState) -> None:
    for ending in measure.iterfind("barline/ending"):
        if ending.get("type") in ("stop", "discontinue"):
            state.endings = frozenset()


def _lay_out(parts: list[tuple[str, list[_Found]]], source: Source) -> None:
    """Measures in the order they are played, every part's content at its place."""
    count = max(len(found) for _, found in parts)
    signs = [_signs(parts, n) for n in range(count)]
    order = played_order(signs)
    roles = _roles(parts, source)
    meter = Meter.of(4, 4)
    at = Fraction(0)
    ties: dict[tuple[int, int, int], int] = {}
    lists = {"melody": source.melody, "piano": source.notes}
    if len(order) != count:
        text = f"repeats written out: {count} measures become {len(order)}"
        source.remarks.append((Fraction(-1), Sure.UNDERSTOOD, text))
    for place, index in enumerate(order):
        inside = [found[index] for _, found in parts if index < len(found)]
        meter = next((found.meter for found in inside if found.meter), meter)
        _context(inside, at, source, meter)
        if place and index != order[place - 1] + 1:
            ties.clear()
        for number, (_, found) in enumerate(parts):
            role = roles[number]
            if index < len(found) and role:
                _notes(found[index], at, number, role, lists[role], ties)
        length = max(found.length for found in inside)
        whole = length >= meter.bar or not length
        short = any(found.implicit for found in inside) or index in (0, count - 1)
        source.bars.append(at)
        at += length if (length and (short or not whole)) or length > meter.bar else meter.bar
    source.end = at
    if source.notes and any(note.hand is None for note in source.notes):
        source.notes = split_hands(source.notes)
        source.remarks.append((Fraction(-1), Sure.GUESSED, "which hand plays each note"))


def _signs(parts: list[tuple[str, list[_Found]]], index: int) -> Signs:
    inside = [found[index].signs for _, found in parts if index < len(found)]
    return Signs(
        any(sign.begins for sign in inside),
        any(sign.ends for sign in inside),
        max(sign.times for sign in inside),
        frozenset().union(*(sign.endings for sign in inside)),
    )


def _context(inside: list[_Found], at: Fraction, source: Source, meter: Meter) -> None:
    """Keys, meters, tempi, sections, symbols and remarks of one measure."""
    if not source.meters or source.meters[-1][1] != meter:
        source.meters.append((at, meter))
    for found in inside:
        if found.key is not None and (not source.keys or source.keys[-1][1] != found.key):
            source.keys.append((at, found.key))
        if found.rehearsal and (not source.sections or source.sections[-1][0] != at):
            source.sections.append((at, found.rehearsal))
        for onset, tempo in found.tempi:
            if not source.tempi or source.tempi[-1][1] != tempo:
                source.tempi.append((at + onset, tempo))
        source.pedal += [at + onset for onset in found.pedal]
        for text in dict.fromkeys(found.left):
            source.left(text, at)
    symbols = next((found.chords for found in inside if found.chords), [])
    source.chords += [replace(chord, onset=at + chord.onset) for chord in symbols]


def _roles(parts: list[tuple[str, list[_Found]]], source: Source) -> list[str]:
    """Which part is the melody and which the piano; others are left, and that is said.

    With symbols, a part of one staff is a melody; without, all notes are harmony.
    """
    staves = [max((s for f in found for _, s, _, _ in f.notes), default=1) for _, found in parts]
    symbols = any(f.chords for _, found in parts for f in found)
    roles = [""] * len(parts)
    piano = [n for n, count in enumerate(staves) if count > 1]
    if piano:
        roles[piano[0]] = "piano"
    single = [n for n, count in enumerate(staves) if count == 1]
    if (symbols and single) or (piano and single and len(parts) == 2 and single[0] < piano[0]):
        roles[single[0]] = "melody"
    elif not piano:
        roles = ["piano"] * len(parts)
    for (name, found), role in zip(parts, roles, strict=True):
        if not role and any(f.notes for f in found):
            source.left(f"the part “{name or 'without a name'}”")
    return roles


def _notes(
    found: _Found,
    at: Fraction,
    part: int,
    role: str,
    notes: list[SourceNote],
    ties: dict[tuple[int, int, int], int],
) -> None:
    two_staves = role == "piano" and any(staff > 1 for _, staff, _, _ in found.notes)
    for note, staff, stops, starts in sorted(found.notes, key=lambda item: item[0].onset):
        key = (part, staff, note.midi)
        onset = at + note.onset
        joined = ties.pop(key, None) if stops else None
        if joined is not None and notes[joined].end == onset:
            held = notes[joined]
            notes[joined] = replace(held, duration=held.duration + note.duration)
        else:
            hand = None
            if role == "piano" and (two_staves or part == 0):
                hand = (Hand.RIGHT if staff == 1 else Hand.LEFT) if two_staves else None
            joined = len(notes)
            notes.append(replace(note, onset=onset, hand=hand))
        if starts:
            ties[key] = joined
