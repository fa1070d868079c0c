"""One part, measure by measure: attributes, headings, bar lines, and its voices in order."""

from __future__ import annotations

from fractions import Fraction
from math import lcm

from lxml.etree import _Element as Element

from engine.exchange.musicxml.notes import write_entry
from engine.exchange.musicxml.signs import write_mark, write_numeral, write_symbol
from engine.exchange.musicxml.use import Frame, Use, add, number
from engine.exchange.printed import clean
from engine.exchange.rhythm import TYPES, note_value
from engine.exchange.score import Mark, Measure, Numeral, ScorePart, Staff, Symbol

_MODES = ("major", "minor", "dorian", "phrygian", "lydian", "mixolydian", "locrian")
#: Voices are numbered through the staves of a part, this many at least for each.
_VOICES = 4


def divisions_of(part: ScorePart) -> int:
    """Divisions of a quarter note that express every duration and place of the part."""
    places: set[int] = {1}
    for measure in part.measures:
        places.add((4 * measure.meter.bar).denominator)
        signs: list[Symbol | Numeral | Mark] = [*measure.symbols, *measure.numerals]
        for staff in measure.staves:
            signs += staff.marks
            for voice in staff.voices:
                places |= {(4 * entry.written.duration).denominator for entry in voice.entries}
        places |= {(4 * sign.onset).denominator for sign in signs}
    return lcm(*places)


def write_part(part: ScorePart, element: Element, *, symbols: bool, use: Use) -> None:
    """Write the measures of a part; chord symbols and headings where `symbols` is set."""
    frame = Frame(divisions_of(part), len(part.clefs), use is Use.ENGRAVING)
    last = len(part.measures) - 1
    for n, measure in enumerate(part.measures):
        entry = add(element, "measure", number=str(measure.number))
        if measure.new_line and n:
            new = "new_page" if frame.engraving else "new_system"
            add(entry, "print", **{new: "yes"})
        _left_barline(entry, measure)
        _attributes(entry, measure, part, frame, first=n == 0)
        if symbols:
            _heading(entry, measure, frame)
        _staves(entry, measure, frame, symbols=symbols)
        after = part.measures[n + 1] if n < last else None
        _right_barline(entry, measure, after, ends=part.ends)


def _left_barline(element: Element, measure: Measure) -> None:
    if not (measure.repeat_opens or measure.ending_opens):
        return
    barline = add(element, "barline", location="left")
    if measure.repeat_opens:
        add(barline, "bar-style", "heavy-light")
    if measure.ending_opens:
        add(barline, "ending", f"{measure.ending}.", number=measure.ending, type="start")
    if measure.repeat_opens:
        add(barline, "repeat", direction="forward")


def _right_barline(
    element: Element, measure: Measure, after: Measure | None, *, ends: bool
) -> None:
    style = ""
    if measure.repeat_closes:
        style = "light-heavy"
    elif after is None:
        style = "light-heavy" if ends else ""
    elif after.letter and not after.repeat_opens:
        style = "light-light"
    if not style and not measure.ending_closes:
        return
    barline = add(element, "barline", location="right")
    if style:
        add(barline, "bar-style", style)
    if measure.ending_closes:
        kind = "stop" if measure.repeat_closes else "discontinue"
        add(barline, "ending", number=measure.ending, type=kind)
    if measure.repeat_closes:
        times = {"times": str(measure.repeat_closes)} if measure.repeat_closes > 2 else {}
        add(barline, "repeat", direction="backward", **times)


def _attributes(
    element: Element, measure: Measure, part: ScorePart, frame: Frame, *, first: bool
) -> None:
    if not (first or measure.shows_key or measure.shows_meter):
        return
    attributes = add(element, "attributes")
    if first:
        add(attributes, "divisions", frame.divisions)
    if measure.shows_key or first:
        key = add(attributes, "key")
        add(key, "fifths", measure.key.signature)
        if measure.key.mode in _MODES:
            add(key, "mode", measure.key.mode)
    if measure.shows_meter or first:
        symbol = {(2, 2): "cut"}.get((measure.meter.count, measure.meter.unit))
        time = add(attributes, "time", **({"symbol": symbol} if symbol else {}))
        head, _, _ = measure.meter.name.partition("/")
        add(time, "beats", head)
        add(time, "beat-type", measure.meter.unit)
    if first:
        if frame.staves > 1:
            add(attributes, "staves", frame.staves)
        for n, clef in enumerate(part.clefs, start=1):
            numbered = {"number": str(n)} if frame.staves > 1 else {}
            entry = add(attributes, "clef", **numbered)
            add(entry, "sign", clef[0])
            add(entry, "line", clef[1:])


def _heading(element: Element, measure: Measure, frame: Frame) -> None:
    if measure.letter and not frame.engraving:
        direction = add(element, "direction", placement="above")
        kind = add(direction, "direction-type")
        add(kind, "rehearsal", measure.letter, enclosure="square", font_weight="bold")
        if measure.section and measure.section != measure.letter:
            kind = add(direction, "direction-type")
            add(kind, "words", clean(measure.section), font_weight="bold")
        frame.staff(direction, 1)
    if measure.tempo is not None and not (frame.engraving and measure.letter):
        direction = add(element, "direction", placement="above")
        kind = add(direction, "direction-type")
        metronome = add(kind, "metronome", parentheses="no")
        base, dots = note_value(measure.meter.beat)
        add(metronome, "beat-unit", TYPES[base])
        for _ in range(dots):
            add(metronome, "beat-unit-dot")
        add(metronome, "per-minute", number(measure.tempo))
        frame.staff(direction, 1)
        add(direction, "sound", tempo=number(measure.tempo * float(measure.meter.beat * 4)))


def _staves(element: Element, measure: Measure, frame: Frame, *, symbols: bool) -> None:
    """The voices, each from the bar's start, the first of a staff with what stands at it."""
    voices_before = 0
    for n, staff in enumerate(measure.staves, start=1):
        waiting = _waiting(
            measure.symbols if symbols and n == 1 else (),
            staff,
            measure.numerals if n == len(measure.staves) else (),
        )
        for m, voice in enumerate(staff.voices):
            if n > 1 or m:
                add(add(element, "backup"), "duration", frame.ticks(measure.meter.bar))
            for entry in voice.entries:
                _write_waiting(element, waiting, entry.written.onset, entry.written.end, n, frame)
                write_entry(element, entry, voices_before + voice.number, n, frame)
            _write_waiting(element, waiting, measure.meter.bar, None, n, frame)
        voices_before += max(_VOICES, len(staff.voices))


_Sign = Symbol | Mark | Numeral


def _waiting(
    symbols: tuple[Symbol, ...], staff: Staff, numerals: tuple[Numeral, ...]
) -> list[_Sign]:
    """What stands at a staff, last first; at one place symbols, marks, numerals."""
    signs: list[_Sign] = [*symbols, *staff.marks, *numerals]
    return sorted(signs, key=lambda sign: sign.onset)[::-1]


def _write_waiting(
    element: Element,
    waiting: list[_Sign],
    at: Fraction,
    until: Fraction | None,
    staff: int,
    frame: Frame,
) -> None:
    """Write and take out what stands before a place, each with its offset from here."""
    while waiting and (until is None or waiting[-1].onset < until):
        sign = waiting.pop()
        offset = sign.onset - at
        if isinstance(sign, Symbol):
            write_symbol(element, sign, offset, staff, frame)
        elif isinstance(sign, Mark):
            write_mark(element, sign, offset, staff, frame)
        else:
            write_numeral(element, sign, offset, staff, frame)
