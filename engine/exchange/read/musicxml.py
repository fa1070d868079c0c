"""A MusicXML score to what it holds: lead sheets with symbols and melody, or piano scores."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import islice
from typing import TYPE_CHECKING

from engine.errors import FileError, Place
from engine.exchange.read.guard import parse_xml
from engine.exchange.read.hands import split_hands
from engine.exchange.read.musicxml_measure import Found, PartState, read_measure
from engine.exchange.read.repeats import MOST_MEASURES, Signs, played_order
from engine.exchange.read.source import Source, SourceNote, Sure
from engine.meter import Meter
from engine.song import Hand
from engine.song.syllables import together, verse_of

if TYPE_CHECKING:
    from lxml.etree import _Element as Element


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
    parts: list[tuple[str, list[Found]]] = []
    for part in root.iterfind("part"):
        state = PartState()
        measures = islice(part.iterfind("measure"), MOST_MEASURES + 1)
        found = [read_measure(measure, state, file) for measure in measures]
        parts.append((names.get(part.get("id") or "", ""), found))
    if not parts or not parts[0][1]:
        raise FileError("the score has no measures", "import another file", Place(file=file))
    if any(len(found) > MOST_MEASURES for _, found in parts):
        source.left(f"everything after measure {MOST_MEASURES}")
        parts = [(name, found[:MOST_MEASURES]) for name, found in parts]
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


def _lay_out(parts: list[tuple[str, list[Found]]], source: Source) -> None:
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
    times, played = Counter(order), Counter[int]()
    for place, index in enumerate(order):
        verse = played[index], times[index]
        played[index] += 1
        inside = [found[index] for _, found in parts if index < len(found)]
        meter = next((found.meter for found in inside if found.meter), meter)
        _context(inside, at, source, meter)
        if place and index != order[place - 1] + 1:
            ties.clear()
        for number, (_, found) in enumerate(parts):
            role = roles[number]
            if index < len(found) and role:
                _notes(found[index], at, number, role, lists[role], ties, verse)
        length = max(found.length for found in inside)
        whole = length >= meter.bar or not length
        short = any(found.implicit for found in inside) or index in (0, count - 1)
        source.bars.append(at)
        at += length if (length and (short or not whole)) or length > meter.bar else meter.bar
    source.end = at
    if source.notes and any(note.hand is None for note in source.notes):
        source.notes = split_hands(source.notes)
        source.remarks.append((Fraction(-1), Sure.GUESSED, "which hand plays each note"))


def _signs(parts: list[tuple[str, list[Found]]], index: int) -> Signs:
    inside = [found[index].signs for _, found in parts if index < len(found)]
    return Signs(
        any(sign.begins for sign in inside),
        any(sign.ends for sign in inside),
        max(sign.times for sign in inside),
        frozenset().union(*(sign.endings for sign in inside)),
    )


def _context(inside: list[Found], at: Fraction, source: Source, meter: Meter) -> None:
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


def _roles(parts: list[tuple[str, list[Found]]], source: Source) -> list[str]:
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
    found: Found,
    at: Fraction,
    part: int,
    role: str,
    notes: list[SourceNote],
    ties: dict[tuple[int, int, int], int],
    verse: tuple[int, int],
) -> None:
    """The notes of a measure at its place, its ties joined; `verse` as in `verse_of`."""
    two_staves = role == "piano" and any(staff > 1 for _, staff, _, _ in found.notes)
    for note, staff, stops, starts in sorted(found.notes, key=lambda item: item[0].onset):
        key = (part, staff, note.midi)
        onset = at + note.onset
        joined = ties.pop(key, None) if stops else None
        if joined is not None and notes[joined].end == onset:
            held = notes[joined]
            words = together(held.words, verse_of(note.words, *verse))
            notes[joined] = replace(held, duration=held.duration + note.duration, words=words)
        else:
            hand = None
            if role == "piano" and (two_staves or part == 0):
                hand = (Hand.RIGHT if staff == 1 else Hand.LEFT) if two_staves else None
            joined = len(notes)
            words = verse_of(note.words, *verse)
            notes.append(replace(note, onset=onset, hand=hand, words=words))
        if starts:
            ties[key] = joined
