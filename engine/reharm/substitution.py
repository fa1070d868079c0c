"""Techniques that put one chord for another: by third, by mode, by colour, by inversion."""

from __future__ import annotations

from collections.abc import Iterator

from engine.chord import Chord, Member
from engine.pitch import Interval, Note
from engine.reharm.families import MAJOR, MINOR, family
from engine.reharm.motion import bass_move, common
from engine.reharm.proposal import (
    FIFTH,
    FOURTH,
    MINOR_SIXTH,
    Proposal,
    can_lead,
    chord_on,
    degree,
    diatonic,
    diatonic_triad,
    is_dominant,
    is_five,
    is_major,
    is_minor,
    is_stable,
    is_tonic,
    likes_sevenths,
    over,
    same_triad,
    triad,
    up,
)
from engine.reharm.site import Site
from engine.reharm.value import Technique

#: Semitones above the tonic of the chords that share a function (major and minor alike).
_GROUPS = (frozenset({0, 3, 4, 8, 9}), frozenset({2, 5}), frozenset({7, 10, 11}))


def diatonic_substitution(site: Site) -> Iterator[Proposal]:
    """Rule: a chord of the key, a third away from a chord of the key, with two notes in common."""
    here, key = site.present, site.key
    if here is None or not diatonic_triad(here, key):
        return
    for chord in diatonic(key, seventh=likes_sevenths(site)):
        if up(here, chord) not in (3, 4, 8, 9) or common(triad(here), triad(chord)) < 2:
            continue
        if _relatives(here, chord):
            continue
        kin = any({degree(here, key), degree(chord, key)} <= group for group in _GROUPS)
        yield Proposal(
            Technique.DIATONIC, (chord,),
            f"a third from {here.pretty} in the same key" + (", same function" if kin else ""),
            0.6 if kin else 0.3,
        )  # fmt: skip


def relative_substitution(site: Site) -> Iterator[Proposal]:
    """Rule: major and its relative minor stand for each other where both are in the key."""
    here, key = site.present, site.key
    if here is None or not (is_major(here) or is_minor(here)):
        return
    for chord in diatonic(key, seventh=likes_sevenths(site)):
        if _relatives(here, chord):
            kind = "minor" if is_minor(chord) else "major"
            yield Proposal(
                Technique.RELATIVE, (chord,), f"the relative {kind} of {here.pretty}", 0.6
            )


def _relatives(first: Chord, second: Chord) -> bool:
    """Whether one is the relative minor of the other."""
    if is_major(first) and family(second) == MINOR:
        return up(first, second) == 9
    return is_minor(first) and family(second) == MAJOR and up(first, second) == 3


def inversion(site: Site) -> Iterator[Proposal]:
    """Rule: another member in the bass, by step or held from or to a neighbour.

    A fifth in the bass wants both neighbours so (a passing, pedal or cadential six-four).
    """
    here = site.present
    if here is None:
        return
    for member, note in here.member_notes:
        if member.degree not in (1, 3, 5, 7) or note.pc == here.bass_note.pc:
            continue
        chord = over(here, note)
        moves = [
            abs(bass_move(site.before, chord)) if site.before else 99,
            abs(bass_move(chord, site.after)) if site.after else 99,
        ]
        near = sum(1 for move in moves if move <= 2)
        if near == 0 or (member.degree == 5 and near < 2):
            continue
        yield Proposal(
            Technique.INVERSION, (chord,), _joined(chord, site), 0.3 + 0.3 * near
        )  # fmt: skip


def _joined(chord: Chord, site: Site) -> str:
    """How a bass joins its neighbours: `the bass E falls by step from F and is held to Am/E`."""
    ways = []
    if site.before is not None and abs(bass_move(site.before, chord)) <= 2:
        ways.append(f"{_STEPS[bass_move(site.before, chord)]} from {site.before.pretty}")
    if site.after is not None and abs(bass_move(chord, site.after)) <= 2:
        ways.append(f"{_STEPS[bass_move(chord, site.after)]} to {site.after.pretty}")
    return f"the bass {chord.bass_note.symbol} {' and '.join(ways)}"


_STEPS = {-2: "falls", -1: "falls", 0: "is held", 1: "rises", 2: "rises"}


def deceptive(site: Site) -> Iterator[Proposal]:
    """Rule: after V, in place of I and not as the last chord, vi or ♭VI."""
    key, here = site.key, site.present
    if not is_five(site.before, key) or site.after is None:
        return
    assert site.before is not None
    if degree(site.before, key) != 7 or (here is not None and not is_tonic(here, key)):
        return
    seventh = likes_sevenths(site)
    because = f"{site.before.pretty} turns aside from the tonic"
    flat = chord_on(key.tonic + MINOR_SIXTH, "maj7" if seventh else "")
    if key.is_minor:
        yield Proposal(Technique.DECEPTIVE, (flat,), because, 0.8)
        return
    sixth = chord_on(key.tonic + Interval.parse("M6"), "m7" if seventh else "m")
    yield Proposal(Technique.DECEPTIVE, (sixth,), because, 0.8)
    yield Proposal(Technique.DECEPTIVE, (flat,), because + ", to the borrowed sixth", 0.5)


def colour(site: Site) -> Iterator[Proposal]:
    """Rule: added notes of the key, a whole step above the member under them."""
    here = site.present
    if here is None:
        return
    for suffix in _COLOURS.get(here.suffix, ()):
        chord = Chord(here.root, chord_on(here.root, suffix).members, here.bass)
        old = {note.pc for _, note in here.member_notes}
        added = [(member, note) for member, note in chord.member_notes if note.pc not in old]
        if not added or not all(_fits(note, chord, site) for _, note in added):
            continue
        named = " and the ".join(_added(member) for member, _ in added)
        yield Proposal(Technique.COLOUR, (chord,), f"with the {named} added", 0.4)


def _added(member: Member) -> str:
    """`ninth`; a seventh is the minor one unless it says major."""
    name = {6: "sixth", 7: "seventh", 9: "ninth", 11: "eleventh", 13: "thirteenth"}[member.degree]
    return f"major {name}" if member == Member(7) else name


_COLOURS = {
    "": ("maj7", "7", "6", "add9", "maj9", "6/9"),
    "m": ("m7", "madd9", "m9", "m6"),
    "7": ("9", "7(add13)"),
    "maj7": ("maj9",),
    "m7": ("m9", "m11"),
    "6": ("6/9",),
    "m6": ("m6/9",),
    "7sus4": ("9sus4",),
    "9": ("9(add13)",),
}


def _fits(note: Note, chord: Chord, site: Site) -> bool:
    """Whether an added note is the key's own, no member a semitone below it, no bass beside it.

    A minor seventh on a major triad is asked for only on V, or where it leads down a fifth.
    """
    key = site.key
    above = (note.pc - chord.root.pc) % 12
    if chord.bass_is_foreign and (note.pc - chord.bass_note.pc) % 12 in (1, 11):
        return False
    if is_dominant(chord) and above == 10:
        goes = site.after is not None and up(chord, site.after) == 5
        return degree(chord, key) == 7 or (goes and is_stable(site.after))
    if not any(each.pc == note.pc for each in key.scale):
        return False
    return (note.pc - 1) % 12 not in {n.pc for _, n in chord.member_notes}


def simplify(site: Site) -> Iterator[Proposal]:
    """Rule: a chord of more than a triad, or over another bass, becomes its triad."""
    here = site.present
    if here is None:
        return
    plain = triad(here)
    if plain != here and family(here) != 6:
        yield Proposal(Technique.SIMPLIFY, (plain,), f"the triad of {here.pretty}", 0.3)
    if here.bass is not None and here.bass_is_foreign:
        yield Proposal(
            Technique.SIMPLIFY, (Chord(here.root, here.members),), "without the foreign bass", 0.3
        )


def suspended(site: Site) -> Iterator[Proposal]:
    """Rule: a dominant puts its third off: V of the key, or a chord that falls a fifth."""
    here, key = site.present, site.key
    if here is None:
        if site.after is None or not is_tonic(site.after, key):
            return
        here = chord_on(key.tonic + FIFTH, "7")
    falls = site.after is not None and up(here, site.after) == 5 and is_stable(site.after)
    if not can_lead(here) or not (falls or degree(here, key) == 7):
        return
    fourth = here.root + FOURTH
    third = here.third
    held = site.before is not None and fourth.pc in site.before.pitch_classes
    source = f" is held over from {site.before.pretty} and" if held and site.before else ""
    goal = f"{third.symbol}, the third" if third else "the third"
    for suffix in ("7sus4", "9sus4"):
        chord = Chord(here.root, chord_on(here.root, suffix).members)
        if not same_triad(chord, here) or chord != here:
            yield Proposal(
                Technique.SUSPENDED, (chord,),
                f"{fourth.symbol}{source} puts off {goal}", 0.6,
            )  # fmt: skip
