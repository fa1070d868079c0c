"""Suggestions for one place: every technique's chords, ranked by one model."""

from __future__ import annotations

import math

from engine.harmony import Reading, read_chord
from engine.reharm.choose import five
from engine.reharm.families import chord_of
from engine.reharm.site import place_of, site_at
from engine.reharm.style import likelihood
from engine.reharm.value import Suggestion, Technique
from engine.song import Song


def suggest(
    song: Song,
    reading: Reading | None,
    bar: int,
    slot: int | None = None,
    *,
    count: int = 8,
    dial: float = 0.5,
) -> tuple[Suggestion, ...]:
    """Other chords for a bar or one of its slots, best first.

    `dial` is how far from the present harmony to go, 0 near to 1 far.
    Raises SongError for a bar or slot that isn't there.
    """
    site = site_at(song, reading, bar, slot)
    chances = likelihood(place_of(site))
    found = []
    for cls in five(chances, count + 1):
        chord = chord_of(cls, site.key)
        if chord == site.present:
            continue
        read = read_chord(chord, site.key, site.before, site.after)
        found.append(
            Suggestion(
                bar, slot or 0, (chord,), chord.symbol, read.roman, Technique.USUAL,
                math.log(chances[cls]), read.explanation, site.key,
            )
        )  # fmt: skip
    return tuple(found[:count])
