"""Reading a whole song: its keys, then every chord in its key."""

from __future__ import annotations

from collections.abc import Sequence

from engine.harmony.borders import own_numeral, pivot_at
from engine.harmony.closes import with_closes
from engine.harmony.context import Step
from engine.harmony.numeral import display_numeral
from engine.harmony.read import read_progression
from engine.harmony.regions import key_path, regions_of, sounding
from engine.harmony.spans import gives_way
from engine.harmony.value import ChordReading, Reading
from engine.song import Song


def analyse(song: Song, *, fixed_key: bool = False) -> Reading:
    """Every chord of a song read in context.

    Keys are those written in the song, left where the chords modulate;
    `fixed_key` keeps the written ones.
    """
    places = sounding(song)
    keys = [place.bar.key for place in places] if fixed_key else key_path(places)
    steps = [Step(place.chord, key) for place, key in zip(places, keys, strict=True)]
    spots = [(place.bar.number, place.slot, place.bar.beat_of(place.onset)) for place in places]
    readings = _with_pivots(read_progression(steps, spots))
    readings = with_closes(readings, [place.bar.section for place in places])
    return Reading(readings, regions_of(song, places, keys))


def _with_pivots(readings: Sequence[ChordReading]) -> tuple[ChordReading, ...]:
    """The readings, the pivot chords among them told."""
    found = list(readings)
    chords, keys = [one.chord for one in found], [one.key for one in found]
    for n in range(1, len(found)):
        old, new = keys[n - 1], keys[n]
        at = pivot_at(chords, old, new, keys, n) if old != new else None
        if at is not None and gives_way(found[at]):
            way, other = ("to", new) if at < n else ("from", old)
            numeral = display_numeral(own_numeral(chords[at], other) or "")
            text = f"it is the pivot {way} {other.symbol}, where it is {numeral}"
            found[at] = found[at]._replace(span=text)
    return tuple(found)
