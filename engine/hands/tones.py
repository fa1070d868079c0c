"""What the hands need to know of a harmony: its pitch classes, their jobs and spellings.

Equal harmonies are one object, so that every later stage can remember what it
worked out for one by its identity.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from engine.chord import Chord
from engine.harmony import ChordReading
from engine.key import Key
from engine.pitch import Note, Pitch


@dataclass(frozen=True, slots=True, eq=False)
class Tones:
    """A harmony for the hands. Pitch classes are 0–11; intervals in semitones.

    `above` are the members above the sounding bass, nearest first: what the
    left hand's 3, 5 and 7 mean; `second` is the scale's step above the bass.
    `leading` must not sound twice; `scale` are the pitch classes outside notes
    may be taken from; `fifths` spells each pitch class (line of fifths).
    `added` are pitch classes of a sixth or a ninth that suit the harmony.
    """

    chord: Chord
    members: tuple[tuple[int, int], ...]  # (degree, pitch class) by degree
    bass: int
    above: tuple[int, ...]
    second: int
    third: int | None
    leading: int | None
    scale: tuple[int, ...]
    added: tuple[int, ...]
    fifths: tuple[int, ...]
    pcs: frozenset[int]

    @property
    def root(self) -> int:
        return self.chord.root.pc

    @property
    def foreign_bass(self) -> bool:
        return all(pc != self.bass for _, pc in self.members)

    @property
    def spared_root(self) -> bool:
        """Whether it goes without its root over the bass: they are one, or it is the bass's fifth.

        F A C over G is Dm7/G as it is played.
        """
        fifth = len(self.members) > 3 and (self.root - self.bass) % 12 == 7
        return self.root == self.bass or (self.foreign_bass and fifth)

    def pitch(self, midi: int) -> Pitch:
        """A MIDI number as this harmony spells it."""
        return _pitch(midi, self.fifths[midi % 12])

    def step_from(self, midi: int, way: int) -> int:
        """The next note of the scale from a MIDI number, upwards (1) or downwards (-1)."""
        for size in (1, 2, 3):
            if (midi + way * size) % 12 in self.scale:
                return midi + way * size
        return midi + 2 * way


@lru_cache(maxsize=4096)
def _pitch(midi: int, fifths: int) -> Pitch:
    note = Note(fifths)
    natural = Pitch(note, 0).midi
    return Pitch(note, (midi - natural) // 12)


def tones_of(reading: ChordReading) -> Tones:
    """The tones of a chord as it was read in its place.

    Where it was read on a double flat and written on a plain note, hands read what is written:
    G B D F under the symbol G7 in G flat, though it is A♭♭7 there.
    """
    chord, root = reading.chord, reading.spelled.root
    if root.alter > -2 or chord.root.alter == -2:
        return _tones(chord, reading.notes, reading.scale, reading.key)
    turn = chord.root.fifths - root.fifths
    scale = tuple([Note(note.fifths + turn) for note in reading.scale])
    return _tones(chord, chord.notes, scale, reading.key)


@lru_cache(maxsize=4096)
def _tones(chord: Chord, notes: tuple[Note, ...], scale: tuple[Note, ...], key: Key) -> Tones:
    respelled = {note.pc: note for note in notes}
    bass = notes[0].pc if notes else chord.bass_note.pc
    members = tuple((member.degree, note.pc) for member, note in chord.member_notes)
    pcs = frozenset({bass, *(pc for _, pc in members)})
    usable = scale or _scale(chord, key)
    fifths = [key.spell(pc).fifths for pc in range(12)]
    for note in (*usable, *notes):
        fifths[note.pc] = respelled.get(note.pc, note).fifths
    scale_pcs = tuple(sorted({note.pc for note in usable} | pcs))
    degree = dict(members)
    third = degree.get(3)
    second = next((n for n in (2, 1, 3) if (bass + n) % 12 in {note.pc for note in usable}), 2)
    return Tones(
        chord=chord,
        members=members,
        bass=bass,
        above=_above(chord, notes, bass),
        second=second,
        third=third,
        leading=_leading(chord, key),
        scale=scale_pcs,
        added=_added(chord, key, {note.pc for note in usable}, pcs),
        fifths=tuple(fifths),
        pcs=pcs,
    )


def _scale(chord: Chord, key: Key) -> tuple[Note, ...]:
    """The key's scale with the chord's own notes in place of those of the same letter."""
    own = {note.letter: note for _, note in chord.member_notes}
    return tuple(own.get(note.letter, note) for note in key.scale)


def _above(chord: Chord, notes: tuple[Note, ...], bass: int) -> tuple[int, ...]:
    found = [(note.pc - bass) % 12 for note in notes[1:]]
    near = sorted({size for size in found if size})
    if chord.bass is not None or not near:
        return tuple(near) or (7,)
    # In root position 3, 5 and 7 are the degrees they are named after, where they exist.
    names = {member.degree: (note.pc - bass) % 12 for member, note in chord.member_notes}
    fifth = names.get(5)
    three = next((names[degree] for degree in (3, 4, 2) if degree in names), None)
    seven = next((names[degree] for degree in (7, 6) if degree in names), None)
    if fifth is None:
        fifth = next((size for size in near if size != three), near[-1])
    row = [three if three is not None else fifth, fifth]
    if seven is not None:
        row.append(seven)
    return tuple(row)


def _leading(chord: Chord, key: Key) -> int | None:
    """The pitch class that leads by a half step and is not doubled (Open Music Theory)."""
    third, seventh = chord.alter(3), chord.alter(7)
    if third == 0 and chord.third is not None:
        to_tonic = (chord.third.pc + 1) % 12 == key.tonic.pc
        if seventh == -1 or to_tonic:
            return chord.third.pc
    if third == -1 and chord.alter(5) == -1 and (chord.root.pc + 1) % 12 == key.tonic.pc:
        return chord.root.pc
    return None


def _added(chord: Chord, key: Key, scale: set[int], pcs: frozenset[int]) -> tuple[int, ...]:
    """A ninth where the second is a whole step in the key, a sixth on major triads in the key."""
    if chord.bass_is_foreign or chord.third is None:
        return ()
    root = chord.root.pc
    in_key = {note.pc for note in key.scale}
    found = []
    ninth = (root + 2) % 12
    if ninth in in_key and ninth in scale and ninth not in pcs and chord.alter(5) == 0:
        found.append(ninth)
    sixth = (root + 9) % 12
    if (
        sixth in in_key and sixth in scale and sixth not in pcs
        and chord.alter(3) == 0 and chord.seventh is None and chord.alter(5) == 0
    ):  # fmt: skip
        found.append(sixth)
    return tuple(found)
