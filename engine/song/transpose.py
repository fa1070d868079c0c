"""A song in another key: keys, chords and pinned shapes moved, the writer's way of writing kept."""

from __future__ import annotations

import re
from dataclasses import replace

from engine.key import Key
from engine.pitch import NOTE_PATTERN, Interval, Note, Pitch
from engine.song.abc_move import moved_melody
from engine.song.build import rebuilt
from engine.song.chart import split
from engine.song.respell import moved_symbol, spelled
from engine.song.splice import cut
from engine.song.value import Bar, BarSettings, Section, Settings, SlotKind, Song

_PITCH = re.compile(rf"(?<![^\s,|]){NOTE_PATTERN}-?\d+(?![^\s,|])")
_TOP = re.compile(rf"(?<=top )\s*({NOTE_PATTERN})(?![^\s,|])")


def transpose(song: Song, interval: Interval) -> Song:
    """The song an interval higher (or lower).

    Keys whose signature would pass seven accidentals are respelled, and the
    chords with them. Suffixes stay as typed; melodies move along. Raises
    SongError where a melody cannot be read or would leave the piano.
    """
    bars: dict[int, list[Bar]] = {}
    for bar in song.bars:
        bars.setdefault(bar.section, []).append(bar)
    sections = [
        _section(section, bars[index], interval) for index, section in enumerate(song.sections)
    ]
    return rebuilt(song, settings=_settings(song.settings, interval), sections=sections)


def interval_to(key: Key, tonic: Note) -> Interval:
    """The shorter way from a key's tonic to another, up or down."""
    up = key.tonic.to(tonic)
    return up if up.semitones <= 6 else up + Interval(-7, -12)


def _settings(settings: Settings, interval: Interval) -> Settings:
    return replace(settings, key=settings.key.moved(interval)) if settings.key else settings


def _own(own: BarSettings, interval: Interval) -> BarSettings:
    settings = _settings(own.settings, interval)
    if own.shape is None:
        return replace(own, settings=settings)
    shape = _PITCH.sub(lambda match: (Pitch.parse(match[0]) + interval).name, own.shape)
    shape = _TOP.sub(lambda match: (Note.parse(match[1]) + interval).name, shape)
    return replace(own, settings=settings, shape=shape)


def _section(section: Section, bars: list[Bar], interval: Interval) -> Section:
    pieces = []
    for written, bar in zip(split(section.chart), bars, strict=True):
        if written.repeats:
            continue
        shift, key = spelled(bar.key, interval), bar.key.moved(interval)
        for slot in bar.slots:
            if slot.kind is SlotKind.CHORD:
                assert slot.chord is not None
                pieces.append((*slot.span, moved_symbol(slot.typed, slot.chord, shift, key)))
    first = bars[0]
    melody = section.melody
    if melody is not None:
        shift = spelled(first.key, interval)
        melody = moved_melody(melody, first.key, first.meter, shift)
    return replace(
        section,
        chart=cut(section.chart, pieces),
        melody=melody,
        settings=_settings(section.settings, interval),
        bar_settings=tuple((place, _own(own, interval)) for place, own in section.bar_settings),
    )
