"""The skeleton of a part: the right hand's shapes as block chords over the bass notes."""

from __future__ import annotations

from fractions import Fraction

from engine.part import Part, PartNote, Role
from engine.song import Hand, Song


def skeleton(song: Song, part: Part) -> Part:
    """Block chords as long as each shape lasts, and under each harmony its bass note."""
    notes: list[PartNote] = []
    for shape in part.shapes:
        notes += [
            PartNote(shape.bar, Hand.RIGHT, pitch, shape.onset, shape.duration, Role.CHORD)
            for pitch in shape.pitches
        ]
    for bar in song.bars:
        for slot in bar.slots:
            onset = bar.start + slot.onset
            bass = _bass(part, onset, onset + slot.duration)
            if bass is not None and slot.chord is not None:
                notes.append(
                    PartNote(bar.number, Hand.LEFT, bass.pitch, onset, slot.duration, Role.BASS)
                )
    notes.sort(key=lambda note: (note.onset, note.hand is Hand.RIGHT, note.pitch.midi))
    return Part(tuple(notes), (), (), (), part.shapes)


def _bass(part: Part, low: Fraction, high: Fraction) -> PartNote | None:
    """The left hand's lowest note from one place up to another, the right's where it is silent."""
    for hand in (Hand.LEFT, Hand.RIGHT):
        inside = [note for note in part.notes if note.hand is hand and low <= note.onset < high]
        if inside:
            return min(inside, key=lambda note: note.pitch.midi) if hand is Hand.LEFT else None
    return None
