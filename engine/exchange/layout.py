"""From a part to a laid-out score: measures, staves, voices, symbols, numerals and marks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from engine.exchange.accidentals import with_accidentals
from engine.exchange.beams import beamed
from engine.exchange.fingers import all_fingers, printed_fingers
from engine.exchange.fold import folded
from engine.exchange.frame import frame_measures
from engine.exchange.lyrics import lyrics_of, with_lyrics
from engine.exchange.marks import marks_by_bar, staff_marks
from engine.exchange.pieces import cut_at_bars, eased
from engine.exchange.rhythm import Span, write_bar
from engine.exchange.score import (
    Entry,
    Head,
    Measure,
    Score,
    ScorePart,
    Staff,
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
    start = chosen[0].start if chosen else Fraction(0)
    fingers = all_fingers(part) if every_finger else printed_fingers(part, song, start)
    pieces = {hand: cut_at_bars(part.notes, chosen, hand, fingers) for hand in staves}
    if not exact:
        pieces = {hand: eased(part, chosen, hand, fingers, found) for hand, found in pieces.items()}
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
    pieces = cut_at_bars(notes, bars, Hand.RIGHT, {})
    sung = lyrics_of(melody)
    measures = [
        replace(measure, staves=(Staff(with_lyrics(voices, bar.start, sung)),))
        for bar, measure in zip(bars, frame, strict=True)
        for voices in (lay_voices(bar.meter, pieces.get(bar.number, ())),)
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
