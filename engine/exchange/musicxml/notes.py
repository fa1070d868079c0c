"""Notes, chords and rests of a voice."""

from __future__ import annotations

from lxml import etree
from lxml.etree import _Element as Element

from engine.exchange.musicxml.use import Frame, add, number
from engine.exchange.printed import clean
from engine.exchange.rhythm import TYPES
from engine.exchange.score import Entry, Head, Lyric

_SIGNS = {
    -3: "triple-flat", -2: "flat-flat", -1: "flat", 0: "natural",
    1: "sharp", 2: "double-sharp", 3: "triple-sharp",
}  # fmt: skip
#: The velocity that MusicXML's `dynamics` is a percentage of.
_FORTE = 90


def write_entry(element: Element, entry: Entry, voice: int, staff: int, frame: Frame) -> None:
    """Write an entry: its heads, or a rest; a hidden rest only moves on."""
    if entry.is_rest and entry.hidden:
        forward = add(element, "forward")
        add(forward, "duration", frame.ticks(entry.written.duration))
        add(forward, "voice", voice)
        frame.staff(forward, staff)
        return
    for n, head in enumerate(entry.heads or (None,)):
        _note(element, entry, head, voice, staff, frame, first=n == 0)


def _fingers(entry: Entry, head: Head, frame: Frame, *, first: bool) -> list[str]:
    """The fingers that are written at a head: its own.

    To be drawn, all of a chord's stand at its first head, so that they make one column, and
    with air about them where no beam is over the stem, so that it does not run beside them.
    """
    if not frame.engraving:
        return [] if head.finger is None else [str(head.finger)]
    if not first:
        return []
    air = "" if entry.beams else "\u00a0"
    return [f"{air}{each.finger}{air}" for each in entry.heads if each.finger is not None]


def _note(
    element: Element,
    entry: Entry,
    head: Head | None,
    voice: int,
    staff: int,
    frame: Frame,
    *,
    first: bool,
) -> None:
    written = entry.written
    loudness = head.velocity if head is not None and not frame.engraving else None
    sound = {"dynamics": number(100 * loudness / _FORTE)} if loudness else {}
    note = add(element, "note", **sound)
    if not first:
        add(note, "chord")
    if head is None:
        add(note, "rest", **({"measure": "yes"} if written.whole_bar else {}))
    else:
        _pitch(note, head)
    add(note, "duration", frame.ticks(written.duration))
    if head is not None:
        if head.tie_in:
            add(note, "tie", type="stop")
        if head.tie_out:
            add(note, "tie", type="start")
    add(note, "voice", voice)
    if not written.whole_bar:
        add(note, "type", written.type)
        for _ in range(written.dots):
            add(note, "dot")
    if head is not None and head.accidental is not None:
        sign = head.accidental
        marks = {"cautionary": "yes"} if sign.courtesy else {}
        add(note, "accidental", _SIGNS[sign.alter], **marks)
    if written.tuplet is not None:
        change = add(note, "time-modification")
        add(change, "actual-notes", written.tuplet.actual)
        add(change, "normal-notes", written.tuplet.normal)
        add(change, "normal-type", TYPES[written.tuplet.unit])
    if head is not None and head.slash:
        add(note, "stem", "none")
        add(note, "notehead", "slash")
    frame.staff(note, staff)
    if first:
        for level, word in enumerate(entry.beams, start=1):
            add(note, "beam", word, number=str(level))
    _notations(note, entry, head, frame, first=first)
    for lyric in entry.lyrics if first else ():
        _lyric(note, lyric)


def _lyric(note: Element, lyric: Lyric) -> None:
    element = add(note, "lyric", number=str(lyric.verse))
    if lyric.text:
        add(element, "syllabic", lyric.syllabic)
        add(element, "text", clean(lyric.text))
    if lyric.extend:
        add(element, "extend", type=lyric.extend)


def _notations(
    note: Element, entry: Entry, head: Head | None, frame: Frame, *, first: bool
) -> None:
    notations = etree.Element("notations")
    if head is not None and head.tie_in:
        add(notations, "tied", type="stop")
    if head is not None and head.tie_out:
        add(notations, "tied", type="start")
    if first and entry.opens_tuplet:
        bracket = "no" if entry.beams and entry.written.type == "eighth" else "yes"
        add(notations, "tuplet", type="start", number="1", bracket=bracket)
    if first and entry.closes_tuplet:
        add(notations, "tuplet", type="stop", number="1")
    fingers = _fingers(entry, head, frame, first=first) if head is not None else []
    if fingers:
        technical = add(notations, "technical")
        for finger in fingers:
            add(technical, "fingering", finger)
    if head is not None and head.rolled:
        add(notations, "arpeggiate")
    if len(notations):
        note.append(notations)


def _pitch(note: Element, head: Head) -> None:
    pitch = add(note, "pitch")
    add(pitch, "step", head.pitch.note.letter)
    if head.pitch.note.alter:
        add(pitch, "alter", head.pitch.note.alter)
    add(pitch, "octave", head.pitch.octave)
