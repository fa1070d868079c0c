"""The chords that may stand in one place of a stretch, each with what it is worth alone."""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass

from engine.chord import Chord
from engine.reharm import borrowing, dominants, substitution
from engine.reharm.families import CLASSES, chord_of, class_of
from engine.reharm.fit import fit_score, fits
from engine.reharm.proposal import (
    degree,
    is_diatonic,
    is_five,
    is_tonic,
    likes_sevenths,
    same_triad,
)
from engine.reharm.rank import over_site
from engine.reharm.site import Site
from engine.reharm.style import style
from engine.song.melody import MelodyNote

_TECHNIQUES = (
    substitution.diatonic_substitution,
    substitution.relative_substitution,
    substitution.inversion,
    borrowing.mixture,
    substitution.colour,
    substitution.suspended,
    dominants.applied,
    dominants.tritone,
    dominants.backdoor,
)


_CANDIDATES = 18
_COLOUR, _BASS = 0.1, 0.4  # how much of a change an added note is, and another bass
_SIX_FOUR = 1.2  # off for a fifth in the bass
_ENDING = 3.0  # off at a section's end for what is no tonic where one stood


@dataclass(frozen=True, slots=True)
class Option:
    """A chord for a place with what it scores alone, by kind of weight.

    `new` is how much of a change it is: 0 none, 1 another chord, less for another bass or colour.
    """

    chord: Chord
    alone: float
    outside: bool
    new: float


@dataclass(frozen=True, slots=True)
class Step:
    """A place: its site, what stands there and the options."""

    site: Site
    options: tuple[Option, ...]


def step_of(site: Site, melody: Sequence[MelodyNote], dial: float, *, first: bool) -> Step | None:
    """The chords that may stand in a place; what stands there alone where each other one rubs.

    None for an open place where each rubs. Only the first place knows which chord came before,
    so that a note held over may count as prepared.
    """
    table = style()[0].single[int(site.key.is_minor)]
    present = site.present
    chords: list[Chord] = [] if present is None else [present]
    for technique in _TECHNIQUES:
        chords += [each.chords[0] for each in technique(site) if len(each.chords) == 1]
    seventh = likes_sevenths(site)
    usual = sorted(range(CLASSES), key=lambda cls: -table[cls])[:12]
    chords += [chord_of(cls, site.key, seventh=seventh) for cls in usual]
    sung = over_site(melody, site)
    options: dict[tuple[int, frozenset[int]], Option] = {}
    for chord in chords:
        sound = (chord.bass_note.pc, chord.pitch_classes)
        if sound in options:
            continue
        fit = fits(chord, sung, site.onset, site.end,
                   beat=site.bar.meter.beat, before=site.before if first else None)  # fmt: skip
        if any(each.bad for each in fit):
            continue
        outside = not is_diatonic(chord, site.key)
        options[sound] = Option(
            chord,
            float(_alone(chord, site, dial, outside=outside)) + 1.5 * fit_score(fit),
            outside,
            _newness(chord, present),
        )
    best = heapq.nlargest(_CANDIDATES, options.values(), key=lambda each: each.alone)
    if not best and present is not None:
        best = [Option(present, 0.0, outside=False, new=0.0)]
    return Step(site, tuple(best)) if best else None


def _alone(chord: Chord, site: Site, dial: float, *, outside: bool) -> float:
    """What a chord is worth in a place whatever stands around, but for the melody."""
    key, present = site.key, site.present
    chance = style()[0].single[int(key.is_minor), class_of(chord, key)]
    worth = 0.25 * math.log(float(chance)) + (dial - 0.5) * 2 * outside
    if present is not None:
        worth += (dial - 0.5) * _newness(chord, present)
        shared = len(chord.pitch_classes & present.pitch_classes)
        worth += (1.6 - 1.6 * dial) * shared / len(chord.pitch_classes)
    if _is_six_four(chord) and not (is_five(chord, key) and is_five(site.after, key)):
        worth -= _SIX_FOUR
    if _ends(site) and is_tonic(present, key) and (degree(chord, key) or _is_six_four(chord)):
        worth -= _ENDING
    return worth


def _newness(chord: Chord, present: Chord | None) -> float:
    if present is None:
        return 1.0
    if not same_triad(chord, present):
        return 1.0
    bass = _BASS if chord.bass_note.pc != present.bass_note.pc else 0.0
    return bass + (_COLOUR if chord.pitch_classes != present.pitch_classes else 0.0)


def _is_six_four(chord: Chord) -> bool:
    fifth = chord.fifth
    return fifth is not None and fifth.pc == chord.bass_note.pc


def _ends(site: Site) -> bool:
    """Whether the place is the last of its section."""
    bars, here = site.song.bars, site.bar
    last = here.number == len(bars) or bars[here.number].section != here.section
    return last and site.slot in (None, len(here.slots) - 1)
