"""The fingers of a part, and which of them a score prints: those of a new shape."""

from __future__ import annotations

from fractions import Fraction

from engine.part import Part
from engine.song import Hand, Song


def all_fingers(part: Part) -> dict[int, int]:
    """Every finger that the part gives, by the note's index."""
    return {n: note.finger for n, note in enumerate(part.notes) if note.finger is not None}


def printed_fingers(part: Part, song: Song, first: Fraction) -> dict[int, int]:
    """The finger to print, by the note's index in the part.

    A finger is printed where a hand's shape is new, or where a key of the same
    shape takes another finger than the one printed last. What is shown begins at
    `first`, where notes that sound on are struck.
    """
    changes = {
        Hand.RIGHT: _shape_changes(part),
        Hand.LEFT: _chord_changes(song),
    }
    at = dict.fromkeys(Hand, 0)
    known: dict[Hand, dict[int, int]] = {hand: {} for hand in Hand}
    out: dict[int, int] = {}
    for n, note in enumerate(part.notes):
        if note.end <= first:
            continue
        hand = note.hand
        places = changes[hand]
        while at[hand] < len(places) and places[at[hand]] <= max(note.onset, first):
            known[hand] = {}
            at[hand] += 1
        if note.finger is not None and known[hand].get(note.pitch.midi) != note.finger:
            out[n] = note.finger
            known[hand][note.pitch.midi] = note.finger
    return out


def _shape_changes(part: Part) -> list[Fraction]:
    out: list[Fraction] = []
    before: tuple[int, ...] | None = None
    for shape in part.shapes:
        keys = tuple(pitch.midi for pitch in shape.pitches)
        if keys != before:
            out.append(shape.onset)
        before = keys
    return out


def _chord_changes(song: Song) -> list[Fraction]:
    out: list[Fraction] = []
    before: object = None
    for bar in song.bars:
        for slot in bar.slots:
            if slot.chord != before:
                out.append(bar.start + slot.onset)
            before = slot.chord
    return out
