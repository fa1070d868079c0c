"""Stages made by hand: pictures of the screen must not change because the arranger grows."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from engine.errors import AlbertiError
from engine.harmony import Category, ChordReading, Function, Reading
from engine.part import Dynamic, Finding, Part, PartNote, PedalMark, Role, Shape, Token
from engine.perform import Performance
from engine.pitch import Note, Pitch
from engine.song import Bar, Hand, Slot, Song
from engine.workshop import Stages

NUMERALS = {
    "Eb": "I", "Bb/D": "V6", "Cm": "vi", "Cm/Bb": "vi42", "Ab": "IV", "Eb/G": "I6", "Abm6": "iv",
    "Bb7sus4": "V7(sus4)", "Bb7": "V7", "G7/B": "V65/vi", "F7/A": "V65/V", "Fm7/Ab": "ii65",
}  # fmt: skip
EIGHTH = Fraction(1, 8)


def unplayed(song: Song) -> Performance:
    """A still picture makes no sound."""
    raise AlbertiError(f"{song.title} is not played")


class _StillReading(ChordReading):
    """A reading whose derived parts stand still too."""

    __slots__ = ()

    @property
    def scale(self) -> tuple[Note, ...]:
        return self.key.scale

    @property
    def rubs(self) -> tuple[Note, ...]:
        return self.key.scale[3:4]

    @property
    def tensions(self) -> tuple[Note, ...]:
        return ()

    @property
    def also(self) -> tuple[str, ...]:
        return ("another name",) if self.outside else ()

    @property
    def better_spelling(self) -> str:
        return ""

    @property
    def explanation(self) -> str:
        return "One or two plain sentences say what the chord is here and where it leads."

    def account(self, fits: Callable[[str], bool]) -> str:
        return self.explanation if fits(self.explanation) else "It is told in few words."


def still_stages(song: Song, before: Stages | None = None) -> Stages:
    """Readings from a table of numerals, close shapes rising and falling over single basses."""
    readings, notes, tokens, shapes, pedal = [], [], [], [], []
    for bar in song.bars:
        pedal += [PedalMark(bar.start, down=True), PedalMark(bar.end, down=False)]
        for number, slot in enumerate(bar.slots):
            if slot.chord is None:
                continue
            readings.append(_reading(bar, number, slot))
            shape = _shape(bar, slot)
            shapes.append(shape)
            notes += _notes(bar, slot, shape)
            tokens += _tokens(bar, slot)
    part = Part(
        tuple(sorted(notes, key=lambda note: (note.onset, note.hand, note.pitch.midi))),
        tuple(pedal),
        (Dynamic(Fraction(0), "p"), Dynamic(Fraction(0), "<"), Dynamic(Fraction(4), "mf")),
        tuple(tokens),
        tuple(shapes),
    )
    found = (Finding(7, "reach", "a tenth is more than the reach of an octave"),)
    return Stages(song, Reading(tuple(readings)), part, None, found)


def _reading(bar: Bar, number: int, slot: Slot) -> ChordReading:
    chord = slot.chord
    assert chord is not None
    outside = tuple(note for note in chord.notes if note not in bar.key.scale)
    return _StillReading(
        chord,
        bar.key,
        NUMERALS.get(slot.typed, "I"),
        Function.DOMINANT if "V" in NUMERALS.get(slot.typed, "") else Function.TONIC,
        Category.APPLIED if outside else Category.DIATONIC,
        chord.notes,
        spelled=chord,
        bar=bar.number,
        slot=number,
        beat=bar.beat_of(slot.onset),
        outside=outside,
        resolves_to="the next chord" if outside else "",
        resolves=True if outside else None,
    )


def _shape(bar: Bar, slot: Slot) -> Shape:
    assert slot.chord is not None
    members = [note for _, note in slot.chord.member_notes][:3]
    pitches = sorted((Pitch.at_or_above(note, 60) for note in members), key=lambda p: p.midi)
    return Shape(bar.number, bar.start + slot.onset, slot.duration, tuple(pitches))


def _notes(bar: Bar, slot: Slot, shape: Shape) -> list[PartNote]:
    assert slot.chord is not None
    start, found = bar.start + slot.onset, []
    bass = Pitch.at_or_above(slot.chord.bass_note, 38)
    found.append(PartNote(bar.number, Hand.LEFT, bass, start, slot.duration, Role.BASS, finger=5))
    for step in range(int(slot.duration / EIGHTH)):
        which = (0, 1, 2, 1)[step % 4]
        role = Role.NEIGHBOUR if step == 5 else Role.CHORD
        pitch = shape.pitches[min(which, len(shape.pitches) - 1)]
        onset = start + step * EIGHTH
        found.append(
            PartNote(bar.number, Hand.RIGHT, pitch, onset, EIGHTH, role, finger=(1, 2, 4)[which])
        )
    return found


def _tokens(bar: Bar, slot: Slot) -> list[Token]:
    start = bar.start + slot.onset
    right = [
        Token(bar.number, Hand.RIGHT, start + step * EIGHTH, EIGHTH, "1232"[step % 4])
        for step in range(int(slot.duration / EIGHTH))
    ]
    return [*right, Token(bar.number, Hand.LEFT, start, slot.duration, "R")]
