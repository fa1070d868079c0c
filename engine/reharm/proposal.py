"""What a technique proposes, and the small questions about chords that all techniques ask."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from engine.chord import Chord, Member, parse_chord
from engine.key import Key
from engine.pitch import Interval, Note
from engine.reharm.families import DIMINISHED, DOMINANT, MAJOR, MINOR, family
from engine.reharm.site import Site
from engine.reharm.value import Technique

SEMITONE = Interval.parse("m2")
CHROMATIC = Interval.parse("A1")
WHOLE_STEP = Interval.parse("M2")
MINOR_THIRD = Interval.parse("m3")
MAJOR_THIRD = Interval.parse("M3")
FOURTH = Interval.parse("P4")
FIFTH = Interval.parse("P5")
MINOR_SIXTH = Interval.parse("m6")
MINOR_SEVENTH = Interval.parse("m7")


@dataclass(frozen=True, slots=True)
class Proposal:
    """Chords that share the place equally, and the clause that says why the rule holds here.

    `pull` is how strongly the place asks for the technique, 0 to 1.
    """

    technique: Technique
    chords: tuple[Chord, ...]
    because: str
    pull: float = 0.5


@lru_cache(maxsize=4096)
def chord_on(root: Note, suffix: str = "", bass: Note | None = None) -> Chord:
    """A chord by root and suffix, respelled as a whole where its root needs two accidentals.

    A diminished seventh belongs to no one spelling: it takes the one with fewer accidentals.
    """
    shift = -12 if root.alter > 1 else 12 if root.alter < -1 else 0
    if suffix == "dim7":
        shift = min((shift, -12, 12), key=lambda each: _signs(Note(root.fifths + each)))
    root = Note(root.fifths + shift)
    if bass is not None:
        bass = Note(bass.fifths + shift)
        if bass.pc == root.pc:
            bass = None
        elif abs(bass.alter) > 1:
            bass = Note(bass.fifths + (-12 if bass.alter > 0 else 12))
    return Chord(root, parse_chord(f"C{suffix}").members, bass)


def _signs(root: Note) -> int:
    """Accidentals in a diminished seventh on a root."""
    members = parse_chord("Cdim7").members
    return sum(abs((root + member.interval).alter) for member in members)


def over(chord: Chord, bass: Note) -> Chord:
    """The chord with another bass."""
    return Chord(chord.root, chord.members, None if bass.pc == chord.root.pc else bass)


def degree(chord: Chord, key: Key) -> int:
    """Semitones of a chord's root above the tonic."""
    return (chord.root.pc - key.tonic.pc) % 12


def up(first: Chord, second: Chord) -> int:
    """Semitones from root up to root, 0 to 11."""
    return (second.root.pc - first.root.pc) % 12


def is_major(chord: Chord | None) -> bool:
    """A major triad, with anything added but a minor seventh."""
    return chord is not None and family(chord) == MAJOR


def is_minor(chord: Chord | None) -> bool:
    return chord is not None and family(chord) == MINOR


def is_dominant(chord: Chord | None) -> bool:
    """A major triad with a minor seventh."""
    return chord is not None and family(chord) == DOMINANT


def can_lead(chord: Chord | None) -> bool:
    """Whether it may be a dominant: a major triad, with a minor seventh or without any."""
    return chord is not None and (
        is_dominant(chord) or (is_major(chord) and chord.alter(7) is None)
    )


def is_stable(chord: Chord | None) -> bool:
    """Whether something can lead to it: a major or minor chord, or a dominant."""
    return chord is not None and family(chord) in (MAJOR, MINOR, DOMINANT)


@lru_cache(maxsize=256)
def diatonic(key: Key, *, seventh: bool = False) -> tuple[Chord, ...]:
    """The chords in thirds on each degree; in minor also V and vii° with the leading note."""
    chords = [_stacked(key.scale, at, seventh=seventh) for at in range(7)]
    if key.mode == "minor":
        chords.append(chord_on(key.scale[4], "7" if seventh else ""))
        chords.append(chord_on(key.scale[6] + CHROMATIC, "dim7" if seventh else "dim"))
    return tuple(chords)


def _stacked(scale: tuple[Note, ...], at: int, *, seventh: bool) -> Chord:
    root = scale[at]
    members = [Member(1)]
    plain = {3: 4, 5: 7, 7: 11}
    for number in (3, 5, 7) if seventh else (3, 5):
        note = scale[(at + number - 1) % 7]
        members.append(Member(number, (note.pc - root.pc) % 12 - plain[number]))
    return Chord(root, tuple(members))


def triad(chord: Chord) -> Chord:
    """The plain triad under a chord: its third and fifth, a suspension let down to its third."""
    kept = tuple(member for member in chord.members if member.degree in (1, 3, 5))
    if not any(member.degree == 3 for member in kept):
        kept = (Member(1), Member(3), Member(5))
    return Chord(chord.root, kept)


def same_triad(first: Chord, second: Chord) -> bool:
    """Whether two chords have root and triad in common, by sound."""
    if first.root.pc != second.root.pc:
        return False
    return triad(first).members == triad(second).members


def is_diatonic(chord: Chord, key: Key) -> bool:
    """Whether its triad is one of the key's, and its seventh too if it has one."""
    return any(same_triad(chord, each) for each in diatonic(key)) and (
        chord.seventh is None
        or any(
            same_triad(chord, each) and chord.alter(7) == each.alter(7)
            for each in diatonic(key, seventh=True)
        )
    )


def diatonic_triad(chord: Chord, key: Key) -> bool:
    """Whether its triad is one of the key's."""
    return any(same_triad(chord, each) for each in diatonic(key))


def is_tonic(chord: Chord | None, key: Key) -> bool:
    """A major or minor chord on the tonic (a blues seventh counts)."""
    return chord is not None and degree(chord, key) == 0 and is_stable(chord)


def is_five(chord: Chord | None, key: Key) -> bool:
    """The dominant of the key: V, V7 or a cadential six-four."""
    if chord is None:
        return False
    if degree(chord, key) == 7:
        return can_lead(chord)
    fifth = chord.fifth
    return (
        degree(chord, key) == 0
        and fifth is not None
        and chord.bass_note.pc == fifth.pc
        and is_stable(chord)
    )


def is_diminished(chord: Chord | None) -> bool:
    return chord is not None and family(chord) == DIMINISHED


def likes_sevenths(site: Site) -> bool:
    """Whether the place, or most of what surrounds it, has chords of four notes."""
    if site.present is not None:
        return len(site.present.members) > 3
    near = [chord for chord in (site.second_before, site.before, site.after, site.second_after)
            if chord is not None]  # fmt: skip
    rich = sum(1 for chord in near if len(chord.members) > 3 and not is_dominant(chord))
    return rich * 2 > len(near)


def splits(site: Site) -> bool:
    """Whether the place can hold two chords: an even number of beats."""
    beats = site.duration / site.bar.meter.beat
    return beats.denominator == 1 and beats % 2 == 0
