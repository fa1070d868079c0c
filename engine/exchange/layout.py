"""From a part to a laid-out score: measures, staves, voices, symbols, numerals and marks."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from engine.exchange.accidentals import with_accidentals
from engine.exchange.beams import beamed
from engine.exchange.fingers import all_fingers, printed_fingers
from engine.exchange.fold import folded
from engine.exchange.lines import section_letter
from engine.exchange.marks import marks_by_bar, pedal_spans, staff_marks
from engine.exchange.rhythm import Span, write_bar
from engine.exchange.score import (
    Entry,
    Head,
    Measure,
    Numeral,
    Score,
    ScorePart,
    Staff,
    Symbol,
    Voice,
)
from engine.exchange.spacing import spaced
from engine.exchange.voices import Piece, Stack, separate
from engine.harmony import Reading
from engine.meter import Meter
from engine.part import Part, PartNote, Role
from engine.perform import ritard_start
from engine.song import Bar, Hand, Song
from engine.song.melody import MelodyNote, melody_notes

#: More voices than these on one staff are hard to read.
MOST_VOICES = 2
_BOTH = (Hand.RIGHT, Hand.LEFT)
_ONE_STAFF = {Hand.RIGHT: ("G2",), Hand.LEFT: ("F4",)}


def lay_out(
    song: Song,
    reading: Reading | None,
    part: Part,
    *,
    bars: tuple[int, int] | None = None,
    hands: Sequence[Hand] = _BOTH,
    symbols: bool = True,
    numerals: bool = True,
    every_finger: bool = False,
    melody: bool = True,
    ritard: bool = False,
    exact: bool = False,
) -> Score:
    """The score of a part, or of some of its bars (counted from 1, inclusive) or hands.

    Fingers stand where a shape is new, or on every note that has one. The
    song's melody stands on a staff of its own over both hands; `ritard` says
    where the song slows down at its end. A whole song's like passes are folded.
    With `exact`, for other programs, every length is as it is in the part; else,
    for eyes, what would take more than two voices and is held by the pedal
    anyway is written up to the hand's next note.
    """
    first, last = bars if bars is not None else (1, len(song.bars))
    chosen = song.bars[max(0, first - 1) : last]
    staves = tuple(hand for hand in _BOTH if hand in hands)
    measures = frame_measures(song, chosen, reading, symbols=symbols, numerals=numerals)
    fingers = all_fingers(part) if every_finger else printed_fingers(part, song)
    notes = part.notes if exact else held_by_pedal(part, chosen)
    pieces = {hand: _pieces(notes, chosen, hand, fingers) for hand in staves}
    marks = marks_by_bar(part, chosen, ritard_start(song) if ritard else None)
    filled = [
        replace(
            measure,
            staves=tuple(
                Staff(
                    lay_voices(bar.meter, pieces[hand].get(bar.number, ())),
                    staff_marks(marks.get(bar.number, ()), hand, staves),
                )
                for hand in staves
            ),
        )
        for bar, measure in zip(chosen, measures, strict=True)
    ]
    clefs = ("G2", "F4") if len(staves) == 2 else _ONE_STAFF[staves[0]]
    ends = bool(chosen) and chosen[-1] is song.bars[-1]
    piano = ScorePart("Piano", "Pno.", clefs, with_accidentals(filled), ends=ends)
    parts: tuple[ScorePart, ...] = (piano,)
    if melody and len(staves) == 2 and any(section.melody for section in song.sections):
        frame = [replace(measure, numerals=()) for measure in measures]
        parts = (melody_part(melody_notes(song), chosen, frame), piano)
    return score_of(song, parts, whole=bars is None)


def score_of(song: Song, parts: Sequence[ScorePart], *, whole: bool = True) -> Score:
    """The parts under the song's title, in lines; like passes of a whole song folded."""
    laid, zoom = spaced(folded(parts) if whole else parts)
    return Score(song.title, song.composer, song.rights, laid, zoom=zoom)


def melody_part(
    melody: Sequence[MelodyNote], bars: Sequence[Bar], frame: Sequence[Measure]
) -> ScorePart:
    """The melody of some bars on a staff, with what stands in the frame's measures."""
    notes = [
        PartNote(0, Hand.RIGHT, note.pitch, note.onset, note.duration, Role.CHORD)
        for note in melody
    ]
    pieces = _pieces(notes, bars, Hand.RIGHT, {})
    measures = [
        replace(measure, staves=(Staff(lay_voices(bar.meter, pieces.get(bar.number, ()))),))
        for bar, measure in zip(bars, frame, strict=True)
    ]
    heights = sorted(note.pitch.midi for note in notes)
    low = bool(heights) and heights[len(heights) // 2] < 57
    return ScorePart("Melody", "Mel.", ("F4",) if low else ("G2",), with_accidentals(measures))


def lay_voices(meter: Meter, pieces: Iterable[Piece]) -> tuple[Voice, ...]:
    """The voices of one bar and staff, beamed, with rests where nothing sounds."""
    voices = separate(pieces)
    if not voices:
        return (Voice(1, _entries(meter, (), hidden_rests=False)),)
    return tuple(
        Voice(n, beamed(_entries(meter, stacks, hidden_rests=n > 1), meter))
        for n, stacks in enumerate(voices, start=1)
    )


def _entries(meter: Meter, stacks: Sequence[Stack], *, hidden_rests: bool) -> tuple[Entry, ...]:
    spans: list[Span] = []
    at = Fraction(0)
    for n, stack in enumerate(stacks):
        if stack.onset > at:
            spans.append(Span(at, stack.onset, None))
        spans.append(Span(stack.onset, stack.end, n))
        at = stack.end
    if at < meter.bar:
        spans.append(Span(at, meter.bar, None))
    out: list[Entry] = []
    for written in write_bar(meter, spans):
        if written.index is None:
            out.append(Entry(written, hidden=hidden_rests))
            continue
        heads = tuple(
            Head(
                piece.pitch,
                tie_in=piece.tie_in or written.goes_on,
                tie_out=piece.tie_out or written.more,
                finger=None if piece.tie_in or written.goes_on else piece.finger,
                velocity=piece.velocity,
                rolled=piece.rolled and not (piece.tie_in or written.goes_on),
            )
            for piece in stacks[written.index].pieces
        )
        out.append(Entry(written, heads))
    return tuple(out)


def frame_measures(
    song: Song,
    bars: Sequence[Bar],
    reading: Reading | None,
    *,
    symbols: bool,
    numerals: bool,
) -> list[Measure]:
    """Measures with everything but the notes."""
    out: list[Measure] = []
    before: Bar | None = None
    for bar in bars:
        begins = before is None or before.section != bar.section
        out.append(
            Measure(
                number=bar.number,
                key=bar.key,
                meter=bar.meter,
                staves=(),
                shows_key=before is None or before.key.signature != bar.key.signature,
                shows_meter=before is None or before.meter != bar.meter,
                tempo=bar.tempo if _new_tempo(before, bar) else None,
                letter=section_letter(bar.section) if begins else "",
                section=song.sections[bar.section].name if begins else "",
                symbols=tuple(Symbol(slot.onset, slot.chord, slot.typed) for slot in bar.slots)
                if symbols
                else (),
                numerals=_numerals(bar, before, reading) if numerals and reading else (),
            )
        )
        before = bar
    return out


def _new_tempo(before: Bar | None, bar: Bar) -> bool:
    return before is None or (before.tempo, before.meter.beat) != (bar.tempo, bar.meter.beat)


def _numerals(bar: Bar, before: Bar | None, reading: Reading) -> tuple[Numeral, ...]:
    out: list[Numeral] = []
    for n, slot in enumerate(bar.slots):
        found = reading.at(bar.number, n)
        if found is not None:
            out.append(Numeral(slot.onset, found.roman_pretty))
    if out:
        key = _key_at(reading, bar.number)
        earlier = _key_at(reading, before.number) if before is not None else None
        if key is not None and key != earlier:
            out[0] = replace(out[0], tonic=key)
    return tuple(out)


def _key_at(reading: Reading, bar: int) -> str | None:
    for region in reading.regions:
        if region.first <= bar <= region.last:
            tonic = region.key.tonic.symbol
            return tonic.lower() if region.key.is_minor else tonic
    return None


def held_by_pedal(part: Part, bars: Sequence[Bar]) -> tuple[PartNote, ...]:
    """The part's notes, but where a hand's bar takes more than two voices written shorter.

    A note is cut at its hand's next attack where the pedal holds it from
    beginning to end, so that nothing is lost to the ear.
    """
    spans = pedal_spans(part)
    out = list(part.notes)
    for hand in _BOTH:
        mine = [n for n, note in enumerate(part.notes) if note.hand is hand]
        crowded = {
            number
            for number, pieces in _pieces(part.notes, bars, hand, {}).items()
            if len(separate(pieces)) > MOST_VOICES
        }
        if not crowded:
            continue
        attacks = sorted({part.notes[n].onset for n in mine})
        for n in mine:
            note = part.notes[n]
            after = bisect_right(attacks, note.onset)
            if note.bar not in crowded or after == len(attacks) or attacks[after] >= note.end:
                continue
            if any(low <= note.onset and (high is None or note.end <= high) for low, high in spans):
                out[n] = replace(note, duration=attacks[after] - note.onset)
    return tuple(out)


def _pieces(
    notes: Iterable[PartNote],
    bars: Sequence[Bar],
    hand: Hand,
    fingers: Mapping[int, int],
) -> dict[int, list[Piece]]:
    """The notes of a hand cut at the bar lines, by bar number."""
    out: dict[int, list[Piece]] = defaultdict(list)
    if not bars:
        return out
    start, end = bars[0].start, bars[-1].end
    index = 0
    for n, note in enumerate(notes):
        if note.hand is not hand or note.end <= start or note.onset >= end:
            continue
        while index and bars[index].start > note.onset:
            index -= 1
        while index + 1 < len(bars) and bars[index].end <= note.onset:
            index += 1
        at = index
        while at < len(bars) and bars[at].start < note.end:
            bar = bars[at]
            out[bar.number].append(
                Piece(
                    max(note.onset, bar.start) - bar.start,
                    min(note.end, bar.end) - bar.start,
                    note.pitch,
                    tie_in=note.onset < bar.start and at > 0,
                    tie_out=note.end > bar.end and at + 1 < len(bars),
                    finger=fingers.get(n),
                    velocity=note.velocity,
                    rolled=note.rolled,
                )
            )
            at += 1
    return out
