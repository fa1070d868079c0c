"""Techniques that lead to the next chord: applied dominants and what may stand for them."""

from __future__ import annotations

from collections.abc import Iterator

from engine.chord import Chord
from engine.pitch import Note
from engine.reharm.families import MINOR, family
from engine.reharm.proposal import (
    FIFTH,
    FOURTH,
    MINOR_SEVENTH,
    MINOR_SIXTH,
    SEMITONE,
    WHOLE_STEP,
    Proposal,
    can_lead,
    chord_on,
    degree,
    diatonic_triad,
    is_diminished,
    is_dominant,
    is_five,
    is_major,
    is_minor,
    is_stable,
    is_tonic,
    splits,
    up,
)
from engine.reharm.site import Site
from engine.reharm.value import Technique


def _goal(site: Site) -> Chord | None:
    """The next chord, if something can lead to it: of the key, major or minor."""
    after = site.after
    if after is None or not is_stable(after) or not diatonic_triad(after, site.key):
        return None
    return after


def applied(site: Site) -> Iterator[Proposal]:
    """Rule: the dominant seventh or leading-tone seventh of the next chord, which is not I."""
    goal = _goal(site)
    if goal is None or degree(goal, site.key) == 0:
        return
    yield Proposal(
        Technique.APPLIED, (chord_on(goal.root + FIFTH, "7"),),
        f"it falls a fifth to {goal.pretty}", 0.8,
    )  # fmt: skip
    leading = goal.root - SEMITONE
    yield Proposal(
        Technique.APPLIED, (chord_on(leading, "dim7"),),
        f"{leading.symbol} leads up to {goal.pretty}", 0.6,
    )  # fmt: skip


def two_five(site: Site) -> Iterator[Proposal]:
    """Rule: the next chord's own ii and V share the place; half-diminished ii before minor."""
    goal = _goal(site)
    if goal is None or not splits(site) or is_dominant(goal):
        return
    minor = family(goal) == MINOR
    first = chord_on(goal.root + WHOLE_STEP, "m7b5" if minor else "m7")
    second = chord_on(goal.root + FIFTH, "7")
    yield Proposal(
        Technique.TWO_FIVE, (first, second),
        f"the ii and V of {goal.pretty}, falling by fifths", 0.7,
    )  # fmt: skip


def chain(site: Site) -> Iterator[Proposal]:
    """Rule: a dominant before a dominant that falls a fifth itself, or two in a row."""
    after, then = site.after, site.second_after
    if after is not None and is_dominant(after) and then is not None:
        falls = up(after, then) == 5 and is_stable(then)
        if falls and not is_tonic(after, site.key):
            yield Proposal(
                Technique.CHAIN, (chord_on(after.root + FIFTH, "7"),),
                f"dominants fall by fifths through {after.pretty} to {then.pretty}", 0.7,
            )  # fmt: skip
    goal = _goal(site)
    if goal is not None and splits(site) and not is_dominant(goal):
        second = chord_on(goal.root + FIFTH, "7")
        first = chord_on(goal.root + FIFTH + FIFTH, "7")
        yield Proposal(
            Technique.CHAIN, (first, second),
            f"dominants fall by fifths to {goal.pretty}", 0.5,
        )  # fmt: skip


def tritone(site: Site) -> Iterator[Proposal]:
    """Rule: for a dominant that falls a fifth, the dominant seventh a semitone above its goal."""
    after, here = site.after, site.present
    if after is None or not is_stable(after):
        return
    if here is None:
        if not diatonic_triad(after, site.key):
            return
        stands_for = chord_on(after.root + FIFTH, "7")
    elif can_lead(here) and up(here, after) == 5 and (
        is_dominant(here) or degree(here, site.key) == 7
    ):  # fmt: skip
        stands_for = here
    else:
        return
    chord = chord_on(after.root + SEMITONE, "7")
    third, seventh = chord.third, chord.seventh
    if third is None or seventh is None:
        return
    yield Proposal(
        Technique.TRITONE, (chord,),
        f"it shares the tritone of {stands_for.pretty} and falls a semitone to {after.pretty}",
        0.9,
    )  # fmt: skip


def backdoor(site: Site) -> Iterator[Proposal]:
    """Rule: before I of a major key, ♭VII7, alone or after iv; for V, ii, IV, iv or nothing."""
    key, here, after = site.key, site.present, site.after
    if key.mode != "major" or after is None or not (is_tonic(after, key) and is_major(after)):
        return
    if here is not None and degree(here, key) not in (2, 5, 7, 10):
        return
    seven = chord_on(key.tonic + MINOR_SEVENTH, "7")
    yield Proposal(
        Technique.BACKDOOR, (seven,), f"a whole step up to {after.pretty} by the back door", 0.6
    )
    if splits(site):
        four = chord_on(key.tonic + FOURTH, "m7")
        yield Proposal(
            Technique.BACKDOOR, (four, seven),
            f"iv and ♭VII7 lead up to {after.pretty} by the back door", 0.5,
        )  # fmt: skip


def _is_predominant(chord: Chord | None, site: Site) -> bool:
    """A chord on 2, 4 or 6, or nothing yet."""
    return chord is None or degree(chord, site.key) in (1, 2, 5, 8)


def neapolitan(site: Site) -> Iterator[Proposal]:
    """Rule: before V or the cadential six-four, for a predominant: ♭II with its third below."""
    key = site.key
    if not is_five(site.after, key) or not _is_predominant(site.present, site):
        return
    assert site.after is not None
    root = key.tonic + SEMITONE
    chord = chord_on(root, "", key.tonic + FOURTH)
    leading = key.tonic - SEMITONE
    leads = leading.pc in site.after.pitch_classes
    goal = f"{leading.symbol}, the leading note" if leads else key.tonic.symbol
    yield Proposal(
        Technique.NEAPOLITAN, (chord,),
        f"the lowered second {chord.root.symbol} falls to {goal} in {site.after.pretty}", 0.6,
    )  # fmt: skip


def augmented_sixth(site: Site) -> Iterator[Proposal]:
    """Rule: before V or the cadential six-four, for a predominant: ♭6 and ♯4 open to 5."""
    key = site.key
    if not is_five(site.after, key) or not _is_predominant(site.present, site):
        return
    root = key.tonic + MINOR_SIXTH
    raised = key.tonic + FOURTH + _RAISE
    five = (key.tonic + FIFTH).symbol
    for suffix, name in (("7", "German"), ("7b5", "French")):
        chord = chord_on(root, suffix)
        written = chord.seventh.symbol if chord.seventh else ""
        yield Proposal(
            Technique.AUGMENTED_SIXTH, (chord,),
            f"the {name} sixth: {chord.root.symbol} and {raised.symbol}, written {written}, "
            f"open to {five}",
            0.6 if name == "German" else 0.4,
        )  # fmt: skip


_RAISE = WHOLE_STEP + -SEMITONE


def passing_diminished(site: Site) -> Iterator[Proposal]:
    """Rule: between roots a whole step apart, the diminished seventh on the note between.

    Upwards it may share the place with the chord that stands there.
    """
    before, here, after = site.before, site.present, site.after
    if after is None or not is_stable(after) or is_diminished(before):
        return
    if before is not None and is_stable(before):
        if up(before, after) == 2:
            yield _passing((), after.root - SEMITONE, before, after)
        elif up(before, after) == 10:
            yield _passing((), after.root + SEMITONE, before, after)
    if here is not None and is_stable(here) and splits(site) and up(here, after) == 2:
        yield _passing((here,), after.root - SEMITONE, here, after)


def _passing(chords: tuple[Chord, ...], note: Note, first: Chord, last: Chord) -> Proposal:
    link = chord_on(note, "dim7")
    return Proposal(
        Technique.PASSING_DIMINISHED, (*chords, link),
        f"{link.root.symbol} fills the step from {first.pretty} to {last.pretty}", 0.6,
    )  # fmt: skip


def common_tone(site: Site) -> Iterator[Proposal]:
    """Rule: between two stands of one major chord on I, IV or V, its own root's dim7."""
    before, after = site.before, site.after
    if before is None or after is None or not (is_major(after) or is_dominant(after)):
        return
    if before.root.pc != after.root.pc or degree(after, site.key) not in (0, 5, 7):
        return
    if is_minor(before):
        return
    yield Proposal(
        Technique.COMMON_TONE, (chord_on(after.root, "dim7"),),
        f"{after.root.symbol} stays while the rest of {after.pretty} moves out and back", 0.5,
    )  # fmt: skip
