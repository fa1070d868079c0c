"""The one model that ranks: style, function, voice leading, bass, melody, distance.

A score is a sum of named parts, each a weight of shared/tables/reharm.toml
times a measure of the proposal in its place. More is better.
"""

from __future__ import annotations

import math
import tomllib
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

import shared
from engine.chord import Chord
from engine.key import Key
from engine.reharm.families import CLASSES, COUNT, class_of, family
from engine.reharm.fit import Fit, fit_score, fits
from engine.reharm.motion import bass_move, distance
from engine.reharm.site import Site, bars_around, place_of
from engine.reharm.style import likelihood, style
from engine.song.melody import MelodyNote

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Weights:
    """One table of weights; see shared/tables/reharm.toml."""

    style: float
    floor: float
    function: float
    voice_leading: float
    bass: float
    melody: float
    distance: float
    shared: float
    usual: int
    heard: float
    lead: int
    cover: float
    sameness: float
    enough: float


@lru_cache(maxsize=1)
def weights() -> tuple[Weights, Weights]:
    """For open places and for standing chords."""
    table = tomllib.loads(shared.text("tables", "reharm.toml"))
    return Weights(**table["open"]), Weights(**table["standing"])


@dataclass(frozen=True, slots=True)
class Ground:
    """What all proposals of one place are measured against; `melody` is what sounds there."""

    site: Site
    melody: tuple[MelodyNote, ...]
    chances: NDArray[np.float64]
    dial: float

    @property
    def weights(self) -> Weights:
        opened, standing = weights()
        return opened if self.site.present is None else standing


def ground_of(site: Site, melody: Sequence[MelodyNote], dial: float) -> Ground:
    return Ground(site, over_site(melody, site), chances_of(site), dial)


def over_site(melody: Sequence[MelodyNote], site: Site) -> tuple[MelodyNote, ...]:
    """The notes that sound in a place, and the one that follows them."""
    first = bisect_right(melody, site.onset, key=lambda note: note.end)
    last = bisect_left(melody, site.end, key=lambda note: note.onset)
    return tuple(melody[first : last + 1])


def chances_of(site: Site) -> NDArray[np.float64]:
    """(C,) how likely songs have each class here, in the key as written or as the chords sound.

    The written key is believed most at first, its relative next; the bars around may say otherwise.
    """
    import numpy as np

    past, future = bars_around(site)
    heard = [chord for bar in [*reversed(past), *future] for chord in bar]
    believed = tuple(chord.root.pc * COUNT + family(chord) for chord in heard)
    beliefs = key_beliefs(believed, site.key.tonic.pc, site.key.is_minor)
    found = np.zeros(CLASSES)
    for (tonic, minor), belief in beliefs:
        key = site.key
        if (tonic, minor) != (key.tonic.pc, key.is_minor):
            key = Key(key.spell(tonic), "minor" if minor else "major")
        turn = (tonic - site.key.tonic.pc) % 12 * COUNT
        found += belief * np.roll(likelihood(place_of(site, key)), turn)
    return found


#: Beliefs at first: in the written key, in its relative, in any other.
_WRITTEN, _RELATIVE = 0.85, 0.1
_OTHER = (1 - _WRITTEN - _RELATIVE) / 22
_EVIDENCE = 0.25  # neighbouring chords repeat one another: each is worth less than a count says
_LEAST = 0.03


@lru_cache(maxsize=512)
def key_beliefs(
    classes: tuple[int, ...], tonic: int, minor: bool
) -> tuple[tuple[tuple[int, bool], float], ...]:
    """The keys worth believing: ((pitch class of the tonic, minor), belief), beliefs sum to 1.

    `classes` are absolute (root's pitch class times the families, plus family).
    """
    import numpy as np

    tables = style()[0]
    found: dict[tuple[int, bool], float] = {}
    for mode in (False, True):
        alone = np.log(tables.single[int(mode)])
        moves = np.log(tables.after[int(mode)])
        for pc in range(12):
            line = [(cls - pc * COUNT) % CLASSES for cls in classes]
            score = sum(alone[cls] for cls in line[:1])
            score += sum(moves[a, b] for a, b in pairwise(line))
            prior = _OTHER
            if (pc, mode) == (tonic, minor):
                prior = _WRITTEN
            elif mode != minor and (pc - tonic) % 12 == (3 if minor else 9):
                prior = _RELATIVE
            found[pc, mode] = _EVIDENCE * float(score) + math.log(prior)
    top = max(found.values())
    likely = {key: math.exp(value - top) for key, value in found.items()}
    total = sum(likely.values())
    kept = {key: value / total for key, value in likely.items() if value / total > _LEAST}
    total = sum(kept.values())
    return tuple((key, value / total) for key, value in kept.items())


def fits_of(ground: Ground, chords: Sequence[Chord]) -> tuple[Fit, ...]:
    """The melody over chords that share the place equally."""
    if not ground.melody:
        return ()
    site = ground.site
    found: list[Fit] = []
    before = site.before
    length = site.duration / len(chords)
    for at, chord in enumerate(chords):
        start = site.onset + at * length
        found += fits(
            chord, ground.melody, start, start + length,
            beat=site.bar.meter.beat, before=before,
        )  # fmt: skip
        before = chord
    return tuple(found)


def parts_of(
    ground: Ground, chords: Sequence[Chord], pull: float, fit: Sequence[Fit]
) -> tuple[tuple[str, float], ...]:
    """The named parts of a score; their sum is the score."""
    site, w = ground.site, ground.weights
    line = [site.before, *chords, site.after]
    sides = [(a, b) for a, b in pairwise(line) if a and b]
    count = max(1, len(sides))
    return (
        ("style", w.style * max(w.floor, style_of(ground, chords))),
        ("function", w.function * pull),
        ("shared place", w.shared * (len(chords) - 1)),
        ("voice leading", w.voice_leading * sum(distance(a, b) for a, b in sides) / count),
        ("bass", w.bass * sum(_bass(a, b) for a, b in sides) / count),
        ("melody", w.melody * fit_score(fit)),
        ("distance", w.distance * (ground.dial - 0.5) * apart(site, chords)),
    )


def style_of(ground: Ground, chords: Sequence[Chord]) -> float:
    """The logarithm of the chance in the style; of two chords, the mean of both in their places."""
    key = ground.site.key
    classes = [class_of(chord, key) for chord in chords]
    last = math.log(max(1e-9, float(ground.chances[classes[-1]])))
    if len(classes) == 1:
        return last
    table = style()[0].after[int(key.is_minor)]
    before = ground.site.before
    line = classes if before is None else [class_of(before, key), *classes]
    steps = [math.log(float(table[a, b])) for a, b in pairwise(line)]
    return (last + sum(steps)) / (1 + len(steps))


def _bass(first: Chord, second: Chord) -> float:
    """1 held or by step, 0.4 by fourth or fifth, 0 by third, −0.5 by tritone."""
    return (1.0, 1.0, 1.0, 0.0, 0.0, 0.4, -0.5)[abs(bass_move(first, second))]


def apart(site: Site, chords: Sequence[Chord]) -> float:
    """How far from the present harmony, 0 to 1: notes changed and notes outside the key.

    Where nothing stands, from the key alone.
    """
    scale = {note.pc for note in site.key.scale}
    total = 0.0
    for chord in chords:
        notes = chord.pitch_classes
        outside = len(notes - scale) / len(notes)
        if site.present is None:
            total += min(1.0, 2 * outside)
        else:
            changed = len(notes - site.present.pitch_classes) / len(notes)
            total += min(1.0, 0.6 * changed + outside)
    return total / len(chords)
