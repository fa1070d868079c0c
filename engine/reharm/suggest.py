"""Suggestions for one place: every technique's chords, ranked by one model."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

from engine.chord import Chord
from engine.harmony import Reading, read_chord
from engine.reharm import borrowing, dominants, lines, substitution
from engine.reharm.choose import Cover
from engine.reharm.families import CLASSES, chord_of, class_of
from engine.reharm.fit import Fit
from engine.reharm.proposal import Proposal, likes_sevenths
from engine.reharm.rank import Ground, fits_of, ground_of, parts_of
from engine.reharm.site import Site, site_at
from engine.reharm.value import Suggestion, Technique
from engine.reharm.why import changed, kept, sentence, usual
from engine.song import Song
from engine.song.melody import melody_notes

#: Chords of the style's own in any list, however seldom songs have them.
_AT_LEAST = 4
#: Every technique but the style's own, each a function from a place to its proposals.
TECHNIQUES: tuple[Callable[[Site], Iterator[Proposal]], ...] = (
    substitution.diatonic_substitution,
    substitution.relative_substitution,
    substitution.inversion,
    borrowing.mixture,
    substitution.deceptive,
    borrowing.mediant,
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
    return tuple(islice(_listed(ground), count))


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A proposal with its fit and parts; `cls` is the class of a single chord."""

    proposal: Proposal
    fit: tuple[Fit, ...]
    parts: tuple[tuple[str, float], ...]
    cls: int | None

    @property
    def score(self) -> float:
        return sum(part for _, part in self.parts)


def _listed(ground: Ground) -> Iterator[Suggestion]:
    """Best first: what is listed holds back what is like it, so that scores only fall."""
    style = _styled(ground)
    left = _candidates(ground, style)
    variety = _Variety(ground, style)
    while left:
        scores = [each.score + variety.of(each) for each in left]
        at = max(range(len(left)), key=scores.__getitem__)
        best = left.pop(at)
        parts = (*best.parts, ("variety", variety.of(best)))
        variety.take(best)
        yield _made(ground, best, parts)


def _styled(ground: Ground) -> dict[int, _Candidate]:
    """The style's own chord of each class, without what rubs and what stands there."""
    site = ground.site
    seventh = likes_sevenths(site)
    here = None if site.present is None else class_of(site.present, site.key)
    found = {}
    for cls in range(CLASSES):
        chord = chord_of(cls, site.key, seventh=seventh)
        each = _candidate(ground, Proposal(Technique.USUAL, (chord,), "", 0.0))
        if cls != here and each is not None:
            found[cls] = each
    return found


def _candidates(ground: Ground, style: Mapping[int, _Candidate]) -> list[_Candidate]:
    """Each sound once, under its strongest technique, without what rubs or what stands there."""
    w = ground.weights
    ranked = sorted(style, key=lambda cls: -style[cls].score)[: w.usual]
    usual = [style[cls] for at, cls in enumerate(ranked)
             if at < _AT_LEAST or ground.chances[cls] >= w.heard]  # fmt: skip
    found: dict[tuple[object, ...], _Candidate] = {
        _sound(each.proposal.chords): each for each in usual
    }
    present = ground.site.present
    stands = None if present is None else _sound((present,))
    best: dict[tuple[object, ...], Proposal] = {}
    for each in proposals(ground.site):
        key = _sound(each.chords)
        if key != stands and (key not in best or best[key].pull < each.pull):
            best[key] = each
    for key, proposal in best.items():
        candidate = _candidate(ground, proposal)
        if candidate is not None:
            found[key] = candidate
    found.pop(stands or (), None)
    return list(found.values())


def _candidate(ground: Ground, proposal: Proposal) -> _Candidate | None:
    """A proposal measured, or None where it has an unprepared semitone against a held note."""
    fit = fits_of(ground, proposal.chords)
    if any(each.bad for each in fit):
        return None
    single = len(proposal.chords) == 1
    return _Candidate(
        proposal,
        fit,
        parts_of(ground, proposal.chords, proposal.pull, fit),
        class_of(proposal.chords[0], ground.site.key) if single else None,
    )


class _Variety:
    """What is taken off a candidate for what is listed already; it never grows less."""

    def __init__(self, ground: Ground, style: Mapping[int, _Candidate]) -> None:
        import numpy as np

        self._weights = ground.weights
        self._places = 0
        self._techniques: Counter[Technique] = Counter()
        scores = np.full(CLASSES, -np.inf)
        for cls, each in style.items():
            scores[cls] = each.score
        likely = np.exp(scores - scores.max()) if style else np.zeros(CLASSES)
        self._own = likely / (likely.sum() or 1)
        self._cover = Cover(self._own)

    def of(self, each: _Candidate) -> float:
        w = self._weights
        off = w.sameness * self._techniques[each.proposal.technique]
        if each.proposal.technique is Technique.USUAL and self._places >= w.lead:
            off += w.enough * (1 + self._techniques[Technique.USUAL])
        if each.cls is None or not self._own[each.cls]:
            return -off
        return w.cover * math.log(self._cover.gain[each.cls] / self._own[each.cls]) - off

    def take(self, each: _Candidate) -> None:
        self._places += 1
        if self._places > self._weights.lead:
            self._techniques[each.proposal.technique] += 1
        if each.cls is not None:
            self._cover.take(each.cls)


def _because(ground: Ground, each: Proposal) -> str:
    """The clause of a technique, or what songs do."""
    if each.technique is not Technique.USUAL:
        return each.because
    site, chord = ground.site, each.chords[0]
    return usual(site, chord, float(ground.chances[class_of(chord, site.key)]))


def _made(
    ground: Ground, candidate: _Candidate, parts: tuple[tuple[str, float], ...]
) -> Suggestion:
    site, each = ground.site, candidate.proposal
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
        score=sum(part for _, part in parts),
        why=sentence(site, readings, _because(ground, each), candidate.fit),
        key=site.key,
        keeps=kept(old, each.chords[0]) if old else (),
        changes=changed(old, each.chords[0]) if old else each.chords[0].notes,
        parts=parts,
        whole=site.slot is None,
    )


def _sound(chords: Sequence[Chord]) -> tuple[object, ...]:
    """What is heard, whatever it is called: C6 is Am7/C."""
    return tuple((chord.bass_note.pc, chord.pitch_classes) for chord in chords)
