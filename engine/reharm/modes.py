"""A song in the other mode: each chord on its own degree, what leans on another chord leads there.

A chord of the key goes to the same degree of the parallel key, V and vii° with
their leading note. A dominant or diminished chord that leads to the next chord
keeps its kind and follows that chord's new root. What was borrowed from the
parallel key is at home there and stays. Minor's VII stands for V, unless it
leads to III; the sevenths of a blues on I and IV become minor chords. A foreign
bass keeps its degree.
"""

from __future__ import annotations

from collections.abc import Sequence

from engine.chord import Chord, Member
from engine.key import Key
from engine.pitch import Note
from engine.reharm.families import DIMINISHED, MINOR, family
from engine.reharm.proposal import (
    FIFTH,
    SEMITONE,
    can_lead,
    chord_on,
    degree,
    is_diminished,
    is_dominant,
    up,
)

_LEADING = Member(7).interval
_SIXTH = Member(6).interval
_SMALL = (MINOR, DIMINISHED)
_VII = 10


def in_mode(chords: Sequence[Chord], keys: Sequence[Key]) -> list[Chord]:
    """Chords in order of time in the parallel keys, each of the key that it stands in."""
    moved: list[Chord] = []
    following: Chord | None = None  # as it stood
    for chord, key in zip(reversed(chords), reversed(keys), strict=True):
        goal = moved[-1] if moved else None
        moved.append(_moved(chord, key, following, goal))
        following = chord
    return moved[::-1]


def _moved(chord: Chord, old: Key, after: Chord | None, goal: Chord | None) -> Chord:
    new = old.parallel
    shift = new.tonic.fifths - old.tonic.fifths  # twelve where the new key is spelled anew
    if after is not None and goal is not None and _leans(chord, after, old):
        return _leading_to(goal, chord)
    if _at_home(chord, old):
        if old.is_minor and degree(chord, old) == _VII and family(chord) not in _SMALL:
            chord = _of_kind(chord, old.tonic + FIFTH)
        return _on_degrees(chord, old, new)
    if not old.is_minor and _is_blue(chord, old):
        minor = chord_on(chord.root, "m7")
        return _shifted(Chord(chord.root, minor.members), shift)
    return _shifted(chord, shift)


def _is_blue(chord: Chord, key: Key) -> bool:
    """A dominant seventh at home on I or IV."""
    return is_dominant(chord) and degree(chord, key) in (0, 5)


def _leans(chord: Chord, after: Chord, key: Key) -> bool:
    """Whether it leads to the next chord, which is not the tonic, as a dominant or from below."""
    if degree(after, key) == 0 or (_is_blue(chord, key) and _is_blue(after, key)):
        return False
    if is_diminished(chord):
        return up(chord, after) == 1 and not _inside(chord, key)
    return can_lead(chord) and up(chord, after) == 5 and (
        not _inside(chord, key) or (key.is_minor and degree(chord, key) == _VII)
    )  # fmt: skip


def _leading_to(goal: Chord, chord: Chord) -> Chord:
    """A chord of the same kind that leads to another goal, over the same member."""
    return _of_kind(chord, goal.root - SEMITONE if is_diminished(chord) else goal.root + FIFTH)


def _of_kind(chord: Chord, root: Note) -> Chord:
    """A chord of the same kind on another root, over the same member or seventh.

    Any other foreign bass stays.
    """
    bass = chord.bass
    if bass is not None and (not chord.bass_is_foreign or _over_seventh(chord)):
        bass = root + chord.root.to(bass)
    return Chord(root, chord.members, None if bass == root else bass).plainer


def _over_seventh(chord: Chord) -> bool:
    """Whether its bass is a seventh over the root, one that the symbol leaves to the slash."""
    return (chord.bass_note.pc - chord.root.pc) % 12 in (10, 11)


def _inside(chord: Chord, key: Key) -> bool:
    """Whether all its notes are the key's, the leading note of minor among them on V and vii°."""
    own = {note.pc for note in key.scale}
    if key.is_minor and degree(chord, key) in (7, 11):
        own.add((key.tonic + _LEADING).pc)
    return chord.pitch_classes <= own


def _at_home(chord: Chord, key: Key) -> bool:
    """Whether it goes by degrees: a chord of the key, in minor also of the raised sixth."""
    own = {*key.scale, key.tonic + _LEADING}
    if key.is_minor and degree(chord, key) in (2, 5):
        own.add(key.tonic + _SIXTH)
    written = {note for _, note in chord.member_notes} | {chord.bass_note}
    return _inside(chord, key) or (key.is_minor and written <= own)


def _on_degrees(chord: Chord, old: Key, new: Key) -> Chord:
    lead = (old.tonic + _LEADING).pc
    dominant = degree(chord, old) in (7, 11) and lead in chord.pitch_classes

    def placed(note: Note) -> Note:
        number, alter = old.degree(note)
        if number == 7 and (dominant or alter == 1):
            return new.tonic + _LEADING
        return new.scale[number - 1] if alter in (0, 1) else new.spell(note.pc)

    root = placed(chord.root)
    members = []
    for member, note in chord.member_notes:
        plain = Member(member.degree).interval
        alter = (placed(note).pc - root.pc - plain.semitones + 6) % 12 - 6
        if alter and not dominant and (member.degree == 6 or member.degree > 7):
            continue  # an added note that the other mode hasn't
        members.append(Member(member.degree, max(-2, min(2, alter))))
    bass = None if chord.bass is None else placed(chord.bass)
    return Chord(root, tuple(sorted(members)), None if bass == root else bass).plainer


def _shifted(chord: Chord, fifths: int) -> Chord:
    """The same sound, spelled with its key."""
    bass = None if chord.bass is None else Note(chord.bass.fifths + fifths)
    return Chord(Note(chord.root.fifths + fifths), chord.members, bass).plainer
