"""Techniques that bring in chords from outside the key: mixture and chromatic mediants."""

from __future__ import annotations

from collections.abc import Iterator

from engine.key import Key
from engine.reharm.families import MAJOR, MINOR, family
from engine.reharm.proposal import (
    FIFTH,
    FOURTH,
    MAJOR_THIRD,
    MINOR_SEVENTH,
    MINOR_SIXTH,
    MINOR_THIRD,
    WHOLE_STEP,
    Proposal,
    chord_on,
    degree,
    diatonic_triad,
    is_major,
    is_minor,
)
from engine.reharm.site import Site
from engine.reharm.value import Technique

#: How strongly a place asks for a borrowed chord that leads on to the next.
LEADS_ON = 0.7


def mixture(site: Site) -> Iterator[Proposal]:
    """Rule: a chord of the parallel key in place of the one on the same degree.

    In major iv, ii°, ♭VI, ♭III, ♭VII, i, v; in minor IV (Dorian), and I at an end. Where
    nothing stands yet, only before a chord that these lead to.
    """
    key = site.key
    if key.mode == "minor":
        yield from _minor_mixture(site)
        return
    if key.mode != "major":
        return
    tonic, here = key.tonic, site.present
    for semitones, root, suffix, stands_for, leads_to in (
        (5, tonic + FOURTH, "m", {(5, MAJOR)}, (0, 7)),
        (2, tonic + WHOLE_STEP, "m7b5", {(2, MINOR)}, (7,)),
        (8, tonic + MINOR_SIXTH, "", {(9, MINOR)}, (0, 7, 10)),
        (3, tonic + MINOR_THIRD, "", {(4, MINOR)}, (2, 5, 8, 10)),
        (10, tonic + MINOR_SEVENTH, "", {(11, 3), (7, MAJOR)}, (0, 5, 8)),
        (0, tonic, "m", {(0, MAJOR)}, ()),
        (7, tonic + FIFTH, "m", {(7, MAJOR)}, ()),
    ):
        if here is not None:
            if (degree(here, key), family(here)) not in stands_for:
                continue
            because = f"in place of {here.pretty}"
        elif site.after is not None and degree(site.after, key) in leads_to:
            if semitones == degree(site.after, key):
                continue
            because = f"leading to {site.after.pretty}"
        else:
            continue
        chord = chord_on(root, suffix)
        leads = site.after is not None and degree(site.after, key) in leads_to
        pull = LEADS_ON if leads else 0.4
        yield Proposal(
            Technique.MIXTURE, (chord,),
            f"borrowed from {Key(tonic, 'minor').symbol}, {because}", pull,
        )  # fmt: skip


def _minor_mixture(site: Site) -> Iterator[Proposal]:
    key, here = site.key, site.present
    if here is None or not is_minor(here):
        return
    if degree(here, key) == 5:
        yield Proposal(
            Technique.MIXTURE, (chord_on(here.root),),
            f"the Dorian IV in place of {here.pretty}", 0.4,
        )  # fmt: skip
    if degree(here, key) == 0 and site.bar.number == len(site.song.bars):
        yield Proposal(
            Technique.MIXTURE, (chord_on(here.root),), "the major third at the end (Picardy)", 0.7
        )


def mediant(site: Site) -> Iterator[Proposal]:
    """Rule: a third away, both major or both minor, and the new one not of the key."""
    here = site.present
    if here is None or not (is_major(here) or is_minor(here)):
        return
    if not diatonic_triad(here, site.key):
        return
    suffix = "m" if is_minor(here) else ""
    for interval, sign in ((MAJOR_THIRD, 1), (MINOR_THIRD, 1), (MAJOR_THIRD, -1),
                           (MINOR_THIRD, -1)):  # fmt: skip
        root = here.root + interval if sign > 0 else here.root - interval
        chord = chord_on(root, suffix)
        if diatonic_triad(chord, site.key):
            continue
        shared = next(n for n in here.notes if n.pc in chord.pitch_classes)
        size = "major" if interval == MAJOR_THIRD else "minor"
        way = "above" if sign > 0 else "below"
        yield Proposal(
            Technique.MEDIANT, (chord,),
            f"a {size} third {way} {here.pretty}, joined by {shared.symbol}", 0.35,
        )  # fmt: skip
