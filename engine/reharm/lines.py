"""Techniques made of a line: in the bass, in a middle voice, or of whole chords in parallel."""

from __future__ import annotations

from collections.abc import Iterator

from engine.chord import Chord
from engine.pitch import Note
from engine.reharm.families import MAJOR, MINOR, family
from engine.reharm.motion import bass_move
from engine.reharm.proposal import (
    FIFTH,
    Proposal,
    chord_on,
    degree,
    diatonic,
    is_stable,
    likes_sevenths,
    over,
    same_triad,
    splits,
    triad,
)
from engine.reharm.site import Site
from engine.reharm.value import Technique

#: A held chord with one voice moving by semitones, by what stands before.
_CLICHES = {
    "minor": ("m", "m(maj7)", "m7", "m6"),
    "major": ("", "maj7", "7"),
    "fifth": ("", "aug", "6", "7"),
}


def line_cliche(site: Site) -> Iterator[Proposal]:
    """Rule: where one major or minor chord is held, one voice moves by semitones inside it.

    1–7–♭7–6 in minor, 1–7–♭7 and 5–♯5–6–♭7 in major: the next step after the chord before.
    """
    before, here = site.before, site.present
    if before is None or here is None or before.root.pc != here.root.pc:
        return
    if family(here) not in (MAJOR, MINOR) or not same_triad(triad(here), _plain(before)):
        return
    for name, line in _CLICHES.items():
        if (name == "minor") != (family(here) == MINOR) or before.suffix not in line[:-1]:
            continue
        step = line.index(before.suffix)
        chord = chord_on(here.root, line[step + 1])
        moved = [n for n in chord.notes if n.pc not in before.pitch_classes]
        if not moved:
            continue
        whole = "5–♯5–6–♭7" if name == "fifth" else "1–7–♭7–6" if name == "minor" else "1–7–♭7"
        yield Proposal(
            Technique.LINE_CLICHE, (chord,),
            f"the line {whole} reaches {moved[0].symbol} while {here.pretty} is held", 0.6,
        )  # fmt: skip


def _plain(chord: Chord) -> Chord:
    """The triad a step of a line belongs to: an augmented fifth on the way is plain again."""
    plain = triad(chord)
    return chord_on(chord.root) if plain.alter(5) == 1 else plain


def pedal_point(site: Site) -> Iterator[Proposal]:
    """Rule: the tonic or dominant in the bass on both sides stays below another chord."""
    before, after, key = site.before, site.after, site.key
    if before is None or after is None or before.bass_note.pc != after.bass_note.pc:
        return
    pedal = before.bass_note
    name = {key.tonic.pc: "tonic", (key.tonic + FIFTH).pc: "dominant"}.get(pedal.pc)
    if name is None:
        return
    if site.present is not None:
        chords: tuple[Chord, ...] = (site.present,)
    else:
        chords = tuple(each for each in diatonic(key) if family(each) in (MAJOR, MINOR))
    for chord in chords:
        if chord.bass_note.pc == pedal.pc or chord.root.pc == pedal.pc:
            continue
        if not is_stable(chord):
            continue
        own = next((n for _, n in chord.member_notes if n.pc == pedal.pc), pedal)
        yield Proposal(
            Technique.PEDAL_POINT, (over(chord, own),),
            f"the {name} {pedal.symbol} stays in the bass", 0.6,
        )  # fmt: skip


def stepwise_bass(site: Site) -> Iterator[Proposal]:
    """Rule: where the basses around are a third apart, the key's note between joins them."""
    before, after, key = site.before, site.after, site.key
    if before is None or after is None:
        return
    move = bass_move(before, after)
    note = _between(before.bass_note, move, site)
    if note is None:
        return
    technique = Technique.ASCENDING_BASS if move > 0 else Technique.DESCENDING_BASS
    way = "up" if move > 0 else "down"
    line = f"{before.bass_note.symbol}–{note.symbol}–{after.bass_note.symbol}"
    because = f"the bass walks {way} {line}"
    here = site.present
    if here is not None and note.pc in {n.pc for _, n in here.member_notes}:
        if here.bass_note.pc != note.pc:
            yield Proposal(technique, (over(here, note),), because, 0.8)
        return
    for chord in diatonic(key, seventh=likes_sevenths(site)):
        third = chord.third
        if third is not None and third.pc == note.pc and is_stable(chord):
            yield Proposal(technique, (over(chord, third),), because, 0.6)
        elif chord.root.pc == note.pc and is_stable(chord):
            yield Proposal(technique, (chord,), because, 0.6)


def _between(low: Note, move: int, site: Site) -> Note | None:
    """The key's note between two basses a third apart, or None."""
    if abs(move) not in (3, 4):
        return None
    inside = range(1, move) if move > 0 else range(-1, move, -1)
    steps = [
        note for semitones in inside for note in site.key.scale
        if note.pc == (low.pc + semitones) % 12
    ]  # fmt: skip
    return steps[0] if steps else None


def passing_bass(site: Site) -> Iterator[Proposal]:
    """Rule: a held chord's bass passes by step to a bass a third away, in the second half."""
    here, after = site.present, site.after
    if here is None or after is None or here.bass is not None or not splits(site):
        return
    move = bass_move(here, after)
    note = _between(here.bass_note, move, site)
    if note is None or not is_stable(here):
        return
    yield Proposal(
        Technique.BASS, (here, over(here, note)),
        f"the bass passes through {note.symbol} to {after.bass_note.symbol}", 0.6,
    )  # fmt: skip


def held_bass(site: Site) -> Iterator[Proposal]:
    """Rule: a chord that repeats the one before takes the passing bass note to the next."""
    here, before, after = site.present, site.before, site.after
    if here is None or before is None or after is None:
        return
    if before.root.pc != here.root.pc or not same_triad(before, here):
        return
    note = _between(before.bass_note, bass_move(before, after), site)
    if note is None or note.pc == here.bass_note.pc:
        return
    yield Proposal(
        Technique.BASS, (over(here, note),),
        f"the bass passes through {note.symbol} to {after.bass_note.symbol}", 0.6,
    )  # fmt: skip


def constant_structure(site: Site) -> Iterator[Proposal]:
    """Rule: between two chords of one kind whose roots lie two equal steps apart, the middle."""
    before, after = site.before, site.after
    if before is None or after is None or before.members != after.members:
        return
    move = (after.root.pc - before.root.pc + 5) % 12 - 5
    if move == 0 or move % 2 or abs(move) > 6 or not is_stable(before):
        return
    root = site.key.spell((before.root.pc + move // 2) % 12)
    chord = chord_on(root, before.suffix)
    size = {1: "a semitone", 2: "a whole step", 3: "a minor third"}[abs(move) // 2]
    way = "up" if move > 0 else "down"
    plain = before.suffix == "" and degree(chord, site.key) in (2, 4, 9, 11)
    yield Proposal(
        Technique.CONSTANT_STRUCTURE, (chord,),
        f"the same kind of chord moves {way} by {size} each time", 0.3 if plain else 0.5,
    )  # fmt: skip
