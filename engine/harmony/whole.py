"""Reading a whole song: its keys, then every chord in its key."""

from __future__ import annotations

from engine.harmony.context import Step
from engine.harmony.read import read_progression
from engine.harmony.regions import key_path, regions_of, sounding
from engine.harmony.value import Reading
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
    return Reading(read_progression(steps, spots), regions_of(song, places, keys))
