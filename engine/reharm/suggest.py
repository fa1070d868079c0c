"""Suggestions for one place: every technique's chords, ranked by one model."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import islice

from engine.chord import Chord
from engine.harmony import Reading, read_chord
from engine.reharm import dominants, lines, substitution
from engine.reharm.choose import covering
from engine.reharm.families import CLASSES, chord_of, class_of
from engine.reharm.fit import Fit
from engine.reharm.proposal import Proposal, likes_sevenths
from engine.reharm.rank import Ground, fits_of, ground_of, parts_of, weights
from engine.reharm.site import Site, site_at
from engine.reharm.value import Suggestion, Technique
from engine.reharm.why import changed, kept, sentence, usual
from engine.song import Song
from engine.song.melody import melody_notes

#: Every technique but the style's own, each a function from a place to its proposals.
TECHNIQUES: tuple[Callable[[Site], Iterator[Proposal]], ...] = (
    substitution.diatonic_substitution,
    substitution.relative_substitution,
    substitution.inversion,
    substitution.mixture,
    substitution.deceptive,
    substitution.mediant,
    substitution.colour,
    substitution.simplify,
    substitution.suspended,
    dominants.applied,
    dominants.two_five,
    dominants.chain,
    dominants.tritone,
    dominants.backdoor,
    dominants.neapolitan,
    dominants.augmented_sixth,
    dominants.passing_diminished,
    dominants.common_tone,
    lines.line_cliche,
    lines.pedal_point,
    lines.stepwise_bass,
    lines.passing_bass,
    lines.held_bass,
    lines.constant_structure,
)


def proposals(site: Site) -> tuple[Proposal, ...]:
    """All that the techniques propose for a place, whose rules hold there."""
    return tuple(each for technique in TECHNIQUES for each in technique(site))


def suggest(
    song: Song,
    reading: Reading | None,
    bar: int,
    slot: int | None = None,
    *,
    count: int = 8,
    dial: float = 0.5,
) -> tuple[Suggestion, ...]:
    """Other chords for a bar or one of its slots (from 0), best first.

    `dial` is how far from the present harmony to go, 0 near to 1 far. None of
    them has an unprepared semitone against a held melody note, and none is
    the chord that stands there. Raises SongError for a bar or slot that isn't
    there, or for a melody that cannot be read.
    """
    site = site_at(song, reading, bar, slot)
    ground = ground_of(site, melody_notes(song), dial)
    found = _open(ground) if site.present is None else _standing(ground)
    return tuple(islice(found, count))


def _open(ground: Ground) -> Iterator[Suggestion]:
    """First what songs do here, then what the techniques add."""
    known = {_sound(each.chords): each for each in proposals(ground.site)}
    style = list(_styled(ground))
    lead = weights()[2].lead
    seen = set()
    for chord, gain in style[:lead]:
        key = _sound((chord,))
        seen.add(key)
        yield _made(ground, known.get(key) or _usual(ground, chord), gain)
    rest = [each for each in _ranked(ground, known.values()) if _sound(each.chords) not in seen]
    yield from _varied(rest)
    seen |= {_sound(each.chords) for each in rest}
    for chord, gain in style[lead:]:
        if _sound((chord,)) not in seen:
            yield _made(ground, _usual(ground, chord), gain)


def _styled(ground: Ground) -> Iterator[tuple[Chord, float]]:
    """Chords by what they add to the chance of the writer's own being listed, and its logarithm."""
    import numpy as np

    site = ground.site
    seventh = likes_sevenths(site)
    chords = [chord_of(cls, site.key, seventh=seventh) for cls in range(CLASSES)]
    fits = [fits_of(ground, (chord,)) for chord in chords]
    scores = np.array(
        [
            sum(part for _, part in parts_of(ground, (chord,), 0.0, fit))
            for chord, fit in zip(chords, fits, strict=True)
        ]
    )
    likely = np.exp(scores - scores.max())
    likely[[any(each.bad for each in fit) for fit in fits]] = 0
    if site.present is not None:
        likely[class_of(site.present, site.key)] = 0
    for cls, gain in covering(likely / (likely.sum() or 1)):
        if likely[cls] > 0:
            yield chords[cls], math.log(max(gain, 1e-12))


def _standing(ground: Ground) -> Iterator[Suggestion]:
    """What the techniques and the style propose in place of a chord."""
    found = list(proposals(ground.site))
    found += [_usual(ground, chord) for chord, _ in islice(_styled(ground), 12)]
    yield from _varied(list(_ranked(ground, found)))


def _ranked(ground: Ground, found: Iterable[Proposal]) -> Iterator[Suggestion]:
    """Each sound once, under its strongest technique, without what rubs or what stands there."""
    best: dict[tuple[object, ...], Proposal] = {}
    present = ground.site.present
    for each in found:
        key = _sound(each.chords)
        if present is not None and key == _sound((present,)):
            continue
        if key not in best or best[key].pull < each.pull:
            best[key] = each
    for each in best.values():
        fit = fits_of(ground, each.chords)
        if not any(one.bad for one in fit):
            yield _made(ground, each, None, fit)


def _varied(found: Sequence[Suggestion]) -> Iterator[Suggestion]:
    """By score, each further one of a technique held back a little."""
    left = sorted(found, key=lambda each: -each.score)
    sameness = weights()[2].sameness
    listed: dict[Technique, int] = {}
    while left:
        best = max(left, key=lambda each: each.score - sameness * listed.get(each.technique, 0))
        left.remove(best)
        off = sameness * listed.get(best.technique, 0)
        listed[best.technique] = listed.get(best.technique, 0) + 1
        yield replace(
            best, score=best.score - off, parts=(*best.parts, ("sameness", -off))
        )  # fmt: skip


def _usual(ground: Ground, chord: Chord) -> Proposal:
    site = ground.site
    chance = float(ground.chances[class_of(chord, site.key)])
    return Proposal(Technique.USUAL, (chord,), usual(site, chord, chance), 0.0)


def _made(
    ground: Ground, each: Proposal, score: float | None, fit: Sequence[Fit] | None = None
) -> Suggestion:
    site = ground.site
    if fit is None:
        fit = fits_of(ground, each.chords)
    parts = parts_of(ground, each.chords, each.pull, fit)
    line = [site.before, *each.chords, site.after]
    readings = [
        read_chord(chord, site.key, line[at], line[at + 2]) for at, chord in enumerate(each.chords)
    ]
    old = site.present or site.before
    return Suggestion(
        bar=site.bar.number,
        slot=site.slot or 0,
        chords=each.chords,
        symbol=" ".join(chord.symbol for chord in each.chords),
        roman=" ".join(reading.roman for reading in readings),
        technique=each.technique,
        score=sum(part for _, part in parts) if score is None else score,
        why=sentence(site, readings, each.because, fit),
        key=site.key,
        keeps=kept(old, each.chords[0]) if old else (),
        changes=changed(old, each.chords[0]) if old else each.chords[0].notes,
        parts=parts,
        whole=site.slot is None,
    )


def _sound(chords: Sequence[Chord]) -> tuple[object, ...]:
    return tuple((chord.bass_note.pc, chord.root.pc, chord.pitch_classes) for chord in chords)
