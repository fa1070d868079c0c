"""Turns annotated popular songs into songs of this project, to arrange and to count.

The chords are those of harmony_songs.py; a bar whose length is not the song's
meter gets a meter of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from engine.errors import AlbertiError
from engine.meter import Meter
from engine.song import BarSettings, Section, Settings, Song, build
from tests.evaluate.harmony_songs import AnnotatedSong, SongChord, songs


def _bar_text(chords: list[SongChord], meter: Meter) -> str:
    """One bar of a chart: names alone where they share the bar equally, else with dots."""
    names = [chord.chord.symbol if chord.chord else "N.C." for chord in chords]
    if len({chord.duration for chord in chords}) == 1:
        return " ".join(names)
    words = []
    for name, chord in zip(names, chords, strict=True):
        beats = chord.duration / meter.beat
        words += [name] + ["."] * (int(beats) - 1)
    return " ".join(words)


def _meter_of(length: Fraction, usual: Meter) -> Meter:
    if length == usual.bar:
        return usual
    unit = 4 if (length * 4).denominator == 1 else 8
    return Meter.of(int(length * unit), unit)


def song_of(annotated: AnnotatedSong, settings: Settings, reach: int = 12) -> Song:
    """The song in one section, with these settings over its own key and meter."""
    bars: dict[int, list[SongChord]] = {}
    for chord in annotated.chords:
        bars.setdefault(chord.bar, []).append(chord)
    words, own = [], []
    usual = settings.meter or annotated.meter
    for number, chords in enumerate(bars.values(), 1):
        if settings.meter is not None:
            words.append(_shared_out(chords, usual))
            continue
        meter = _meter_of(sum((chord.duration for chord in chords), Fraction(0)), usual)
        words.append(_bar_text(chords, meter))
        if meter != usual:
            own.append((number, BarSettings(Settings(meter=meter))))
    first = annotated.chords[0].key
    settings = replace(settings, key=settings.key or first, meter=usual)
    section = Section("", "| " + " | ".join(words) + " |", bar_settings=tuple(own))
    return build(annotated.name, settings, [section], reach=reach)


def _shared_out(chords: list[SongChord], meter: Meter) -> str:
    """A bar's chords in another meter: as many as it has beats, sharing it as they can."""
    names = [chord.chord.symbol if chord.chord else "N.C." for chord in chords][: meter.beats]
    if meter.beats % len(names) == 0:
        return " ".join(names)
    words = [word for name in names for word in (name,)]
    words += ["."] * (meter.beats - len(names))
    return " ".join(words)


def all_songs(settings: Settings, reach: int = 12, count: int | None = None) -> Iterator[Song]:
    """Every annotated song that this project's charts can hold."""
    for annotated in songs()[:count]:
        try:
            yield song_of(annotated, settings, reach)
        except AlbertiError as error:
            raise AssertionError(f"{annotated.name}: {error}") from error
