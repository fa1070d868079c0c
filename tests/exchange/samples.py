"""Songs and parts to write down: a plain broken-chord part over any chart."""

from __future__ import annotations

from fractions import Fraction

from engine.key import Key
from engine.meter import Meter
from engine.part import Dynamic, Part, PartNote, PedalMark, Role, Shape
from engine.pitch import Pitch
from engine.song import Hand, Section, Settings, Song
from engine.song.build import build


def make_song(
    chart: str = "| C | Am7 | F . . G7 | C |",
    *,
    key: str = "C major",
    meter: str = "4/4",
    tempo: float = 72,
    title: str = "Small Hours",
    sections: tuple[tuple[str, str], ...] | None = None,
) -> Song:
    parts = sections or (("Verse", chart),)
    return build(
        title,
        Settings(key=Key.parse(key), meter=Meter.parse(meter), tempo=tempo),
        tuple(Section(name, text) for name, text in parts),
    )


def make_part(song: Song, slots: int = 8) -> Part:
    """The right hand breaks each chord in `slots` equal notes a bar, the left holds the bass."""
    notes: list[PartNote] = []
    pedal: list[PedalMark] = []
    shapes: list[Shape] = []
    for bar in song.bars:
        step = bar.meter.bar / slots
        for slot in bar.slots:
            if slot.chord is None:
                continue
            low = bar.start + slot.onset
            bass = Pitch.at_or_above(slot.chord.bass_note, 36)
            notes.append(
                PartNote(bar.number, Hand.LEFT, bass, low, slot.duration, Role.BASS, 64, finger=5)
            )
            shape = sorted(
                (Pitch.at_or_above(note, 57) for _, note in slot.chord.member_notes[:3]),
                key=lambda pitch: pitch.midi,
            )
            shapes.append(Shape(bar.number, low, slot.duration, tuple(shape)))
            pedal += [PedalMark(low, False), PedalMark(low, True)]
        for n in range(slots):
            at = n * step
            chord = bar.slot_at(at).chord
            if chord is None:
                continue
            order = (
                shapes[-1].pitches
                if len(bar.slots) == 1
                else tuple(Pitch.at_or_above(note, 57) for _, note in chord.member_notes[:3])
            )
            place = (0, 1, 2, 1)[n % 4] % len(order)
            notes.append(
                PartNote(bar.number, Hand.RIGHT, order[place], bar.start + at, step, Role.CHORD, 70,
                         finger=(1, 3, 5)[place])
            )  # fmt: skip
    pedal.append(PedalMark(song.end, False))
    notes.sort(key=lambda note: (note.onset, note.hand is Hand.RIGHT, note.pitch.midi))
    dynamics = (
        Dynamic(Fraction(0), "p"),
        Dynamic(song.bars[len(song.bars) // 2].start, "<"),
        Dynamic(song.bars[-1].start, "end"),
        Dynamic(song.bars[-1].start, "mf"),
    )
    return Part(tuple(notes), tuple(pedal), dynamics, (), tuple(shapes))
