"""The chord pane: what the chord under the cursor is, why it is here, and how it lies."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.chord import Chord, parse_chord
from engine.errors import ChordError
from engine.part import Shape
from engine.pitch import Pitch
from engine.song import Bar, Hand, SlotKind
from engine.workshop import EntryKind, Hands, Pane, reharmonise, symbol_fault
from tui.draw import Sheet, wrapped
from tui.layout import is_roomy
from tui.view import Sounding, View
from tui.widgets.about import Line, about, degree_names, laid_out, signed_symbol
from tui.widgets.advice import draw_singing, draw_verdict, is_of
from tui.widgets.keys import draw_keys
from tui.widgets.lane_plan import index_of
from tui.widgets.line import pane_rule

if TYPE_CHECKING:
    from engine.harmony import ChordReading
    from engine.key import Key


_IN_SYMBOL = re.compile(r"\((?:sus|[♯♭\d,])+\)")


def draw_chord(view: View, width: int, height: int) -> Sheet:
    """The pane with its rule, as much of it as fits: the most needed lines first."""
    sheet = Sheet(width, height)
    bar = view.bar
    slot = bar.slots[min(view.work.cursor.slot, len(bar.slots) - 1)]
    beat = beat_text(bar.beat_of(slot.onset))
    if _roomy(sheet):
        pane_rule(sheet, view, Pane.CHORD, "chord", f"bar {bar.number}, beat {beat}")
    else:
        place = f"bar {bar.number}.{beat}"
        free = view.work.pane is Pane.CHART and view.work.entry is None
        more = "Tab: all" if free and len(place) <= 8 else ""
        pane_rule(sheet, view, Pane.CHORD, "chord", place, more)
    if _typing(sheet, view) or draw_singing(sheet, view):
        return sheet
    if slot.kind is SlotKind.OPEN:
        _words(sheet, 1, "This bar is open. o offers chords for it; a letter A–G writes one.")
    elif slot.kind is SlotKind.NONE:
        _words(sheet, 1, "No chord: both hands rest here.")
    else:
        reading = view.reading_at(bar.number, min(view.work.cursor.slot, len(bar.slots) - 1))
        if reading is None:
            _plain(sheet, slot.chord)
        else:
            _reading(sheet, view, bar, slot.onset, reading)
    return sheet


def beat_text(beat: Fraction) -> str:
    """A beat for people: `3`, `2½` where it falls between."""
    whole, rest = divmod(beat, 1)
    if rest == 0:
        return str(int(whole))
    halves = {Fraction(1, 2): "½", Fraction(1, 3): "⅓", Fraction(2, 3): "⅔"}
    return f"{int(whole)}{halves.get(Fraction(rest), f'+{rest}')}"


def _words(sheet: Sheet, y: int, text: str, style: str = "dim", lines: int = 4) -> int:
    for line in wrapped(text, sheet.width - 2, lines):
        sheet.put(1, y, line, style)
        y += 1
    return y


def _plain(sheet: Sheet, chord: Chord | None) -> None:
    if chord is not None:
        sheet.put(1, 1, chord.pretty, "chart-title")
        sheet.put(1, 2, "  ".join(note.symbol for note in chord.notes))


def _typing(sheet: Sheet, view: View) -> bool:
    """What is being typed, read as it grows; False where it is no chord."""
    entry = view.entry_in(Pane.CHART)
    if entry is None or entry.kind is not EntryKind.CHORD:
        return False
    text = entry.text.strip()
    fault = symbol_fault(entry.text)
    if fault is not None:
        y = _words(sheet, 1, fault.message, "trouble", 3)
        if fault.better:
            x = sheet.put(1, y, "nearest: ", "dim")
            x = sheet.put(x, y, signed_symbol(fault.better), "bold")
            sheet.put(x, y, "   Tab takes it", "dim")
        elif fault.cure:
            _words(sheet, y, fault.cure)
        return True
    if text == "?":
        _words(sheet, 1, "An open bar: chords for it will be offered.")
        return True
    try:
        chord = parse_chord(text)
    except ChordError:
        _words(sheet, 1, "Type a chord: a letter A–G, then what it is, like Fm7, Eb/G or C7sus4.")
        return True
    from engine.harmony import read_chord

    reading = read_chord(chord, view.bar.key)
    y = _identity(sheet, reading, view.bar.key)
    weighed = view.work.weighed
    if weighed is not None and weighed.ask == reharmonise.weighing(view.work, entry):
        y = draw_verdict(sheet, y, weighed)
    _account(sheet, reading, about(reading, None, roomy=_roomy(sheet)), y)
    return True


def _reading(sheet: Sheet, view: View, bar: Bar, onset: Fraction, reading: ChordReading) -> None:
    shape = shape_at(view, bar.start + onset)
    keys = sheet.height >= 9
    bottom = sheet.height - (3 if sheet.height >= 13 else 2) if keys else sheet.height
    y = _identity(sheet, reading, bar.key)
    weighed = view.work.weighed
    if weighed is not None and is_of(weighed, view, bar, onset):
        y = draw_verdict(sheet, y, weighed)
    lines = about(reading, view.reading_after(reading), roomy=_roomy(sheet))
    if shape is not None and _roomy(sheet):
        lines.insert(1, ("shape", "  ".join(p.symbol for p in shape.pitches)))
    _account(sheet, reading, lines, y, bottom)
    if keys:
        at = view.sounding
        keys_down = pressed_at(view, bar, onset) if at is None else sounding_keys(view, at)
        around = None if at is None else sounding_range(view, at)
        width = sheet.width - 2
        draw_keys(sheet, bottom, keys_down, x=1, width=width, fingers=True, around=around)


def _identity(sheet: Sheet, reading: ChordReading, written: Key) -> int:
    """Symbol, numeral, function; then the notes, those outside the key marked, with degrees.

    Where the chords have left the key that is written, its name stands before the numeral.
    """
    home = reading.key.symbol if _roomy(sheet) else signed_symbol(reading.key.short)
    key = f"{home}: " if reading.key != written else ""
    numeral = reading.roman_pretty
    role = role_words(reading) if _roomy(sheet) else reading.function.value
    symbol, room = reading.chord.pretty, sheet.width - 1
    if len(f"{symbol}{key}{numeral}{role}") + 2 > room:
        numeral = _IN_SYMBOL.sub("", numeral)  # the symbol tells it too
    gap = 2 if len(f"{symbol}{key}{numeral}{role}") + 4 <= room else 1
    x = sheet.put(1, 1, symbol, "chart-title") + gap
    y = 1
    if x + len(key + numeral) > sheet.width:
        x, y = 1, 2
    x = sheet.put(sheet.put(x, y, key, "dim"), y, numeral, "focus") + gap
    if x + len(role) > sheet.width:
        x, y = 1, y + 1
    sheet.put(x, y, role, "dim")
    return _notes(sheet, reading, y + 1)


def _notes(sheet: Sheet, reading: ChordReading, y: int) -> int:
    """The notes with their degrees from row y on: behind them in one row, else below them."""
    names, room = degree_names(reading), sheet.width - 1
    notes = [
        (note.symbol + ("○" if note in reading.outside else ""), names.get(note.pc, ""))
        for note in reading.notes
    ]
    beside = sum(len(note) + 1 + len(name) for note, name in notes)
    gap = 2 if beside + 2 * len(notes) - 2 <= room else 1
    inline = not _roomy(sheet) and beside + gap * (len(notes) - 1) <= room
    below = [max(len(note), len(name)) for note, name in notes]
    if not inline:
        gap = 2 if sum(below) + 2 * len(below) - 2 <= room else 1
    x = 1
    for (note, name), size in zip(notes, below, strict=True):
        end = sheet.put(x, y, note, "outside" if note.endswith("○") else "bold")
        if inline:
            x = sheet.put(end + 1, y, name, "faint") + gap
        else:
            sheet.put(x, y + 1, name, "faint")
            x += size + gap
    return y + (1 if inline else 2)


def role_words(reading: ChordReading) -> str:
    """The function, and the category where it says more: `dominant, applied`."""
    function, category = reading.function.value, reading.category.value
    if category in ("diatonic", function):
        return function
    if function == "none":
        return category
    return f"{function}, {category}"


def _roomy(sheet: Sheet) -> bool:
    return is_roomy(sheet.width, sheet.height)


def _account(
    sheet: Sheet, reading: ChordReading, lines: Sequence[Line], y: int, until: int | None = None
) -> None:
    """The sentences from row y on, and the labelled lines at the foot of what is left."""
    until = sheet.height if until is None else until
    said, labelled = laid_out(reading, lines, sheet.width - 1, until - y, roomy=_roomy(sheet))
    for row, text in enumerate(said, y):
        sheet.put(1, row, text)
    for row, (label, text) in enumerate(labelled, until - len(labelled)):
        sheet.put(sheet.put(1, row, label, "faint"), row, text)


def shape_at(view: View, at: Fraction) -> Shape | None:
    """The right hand's shape at a time, of the part on the screen."""
    part = view.stages.part
    if part is None:
        return None
    found = [shape for shape in part.shapes if shape.onset <= at < shape.onset + shape.duration]
    return found[-1] if found else None


def pressed_at(view: View, bar: Bar, onset: Fraction) -> dict[Pitch, int | None]:
    """The keys of one harmony: the right hand's shape and the bass, with their fingers."""
    part = view.stages.part
    if part is None:
        return {}
    slot = bar.slot_at(onset)
    start = bar.start + slot.onset
    end = start + slot.duration
    notes = [n for n in part.notes if n.bar == bar.number and start <= n.onset < end]
    fingers = {note.pitch: note.finger for note in reversed(notes)}
    shape = shape_at(view, start)
    keys: dict[Pitch, int | None] = {}
    if notes:
        lowest = min(notes, key=lambda note: note.pitch.midi)
        keys[lowest.pitch] = lowest.finger
    for pitch in shape.pitches if shape else ():
        keys[pitch] = fingers.get(pitch)
    return keys


def sounding_keys(view: View, at: Sounding) -> dict[Pitch, int | None]:
    """The keys that the hands that sound hold down at a place, with their fingers."""
    song = view.stages.song
    if at.bar > len(song.bars):
        return {}
    time = song.bars[at.bar - 1].start + at.at
    silent = {Hands.RIGHT: Hand.LEFT, Hands.LEFT: Hand.RIGHT}.get(view.work.hands)
    notes = index_of(view.stages.part, song).sounding[at.bar]
    return {
        note.pitch: note.finger
        for note in notes
        if note.onset <= time < note.end and note.hand is not silent
    }


def sounding_range(view: View, at: Sounding) -> tuple[int, int] | None:
    """The lowest and highest MIDI key of the bar that sounds."""
    found = index_of(view.stages.part, view.stages.song).sounding.get(at.bar)
    keys = [note.pitch.midi for note in found or ()]
    return (min(keys), max(keys)) if keys else None
