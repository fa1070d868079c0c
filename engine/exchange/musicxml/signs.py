"""What stands over, between and under the staves: symbols, numerals, dynamics, pedal, words."""

from __future__ import annotations

from fractions import Fraction

from lxml.etree import _Element as Element

from engine.exchange.musicxml.use import Frame, add
from engine.exchange.printed import clean, printed
from engine.exchange.score import Mark, MarkKind, Numeral, Symbol
from engine.exchange.symbols import kind_and_degrees
from engine.pitch import Note

_SMALL = "9"


def write_symbol(
    element: Element, symbol: Symbol, offset: Fraction, staff: int, frame: Frame
) -> None:
    """A chord symbol over the staff; to be drawn it is nothing but text, with air after it."""
    harmony = add(element, "harmony", placement="above")
    chord = symbol.chord
    if chord is None or frame.engraving:
        root = add(harmony, "root")
        add(root, "root-step", "C", text="")
        shown = "N.C." if chord is None else chord.pretty
        shown = f"{printed(shown)}\u00a0" if frame.engraving else shown
        add(harmony, "kind", "none" if chord is None else "major", text=shown)
    else:
        _named_note(harmony, "root", chord.root)
        kind, degrees = kind_and_degrees(chord)
        text = chord.suffix.replace("#", "♯").replace("b", "♭")
        add(harmony, "kind", kind, text=text)
        if chord.bass is not None:
            _named_note(harmony, "bass", chord.bass)
        for degree in degrees:
            entry = add(harmony, "degree", print_object="no")
            add(entry, "degree-value", degree.value)
            add(entry, "degree-alter", degree.alter)
            add(entry, "degree-type", degree.type)
    frame.end_direction(harmony, offset, staff)


def write_numeral(
    element: Element, numeral: Numeral, offset: Fraction, staff: int, frame: Frame
) -> None:
    """A Roman numeral under the staff: drawn as harmony, for exchange as words.

    MusicXML 4.0 has harmony that is a numeral without a root, but readers fall
    over it: music21 (10.5) cannot even print what it has read.
    """
    if frame.engraving:
        harmony = add(element, "harmony", placement="below")
        add(add(harmony, "numeral"), "numeral-root", 1, text=numeral.printed)
        add(harmony, "kind", "major", text="")
        frame.end_direction(harmony, offset, staff)
        return
    direction = add(element, "direction", placement="below")
    add(add(direction, "direction-type"), "words", numeral.printed, font_size=_SMALL)
    frame.end_direction(direction, offset, staff)


def _named_note(harmony: Element, tag: str, note: Note) -> None:
    entry = add(harmony, tag)
    add(entry, f"{tag}-step", note.letter)
    if note.alter:
        add(entry, f"{tag}-alter", note.alter)


def write_mark(element: Element, mark: Mark, offset: Fraction, staff: int, frame: Frame) -> None:
    """Dynamics, a hairpin's end, the pedal, or words.

    A change of pedal is written as an end and a beginning, which every reader draws.
    """
    if mark.kind is MarkKind.PEDAL and mark.text == "change":
        for text in ("up", "down"):
            write_mark(element, Mark(mark.onset, mark.kind, text), offset, staff, frame)
        return
    direction = add(element, "direction", placement="below")
    kind = add(direction, "direction-type")
    if mark.kind is MarkKind.DYNAMIC:
        add(add(kind, "dynamics"), mark.text)
    elif mark.kind is MarkKind.HAIRPIN:
        word = {"<": "crescendo", ">": "diminuendo", "end": "stop"}[mark.text]
        add(kind, "wedge", type=word, number="1")
    elif mark.kind is MarkKind.PEDAL:
        word = {"down": "start", "up": "stop"}[mark.text]
        add(kind, "pedal", type=word, line="yes", sign="no")
    else:
        add(kind, "words", clean(mark.text))
    frame.end_direction(direction, offset, staff)
