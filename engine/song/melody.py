"""The melodies of a song's sections as timed notes, read from their ABC text."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from engine.key import Key
from engine.meter import Meter
from engine.pitch import Pitch
from engine.song.abc import read_abc
from engine.song.abc_value import AbcNote
from engine.song.syllables import Words, together
from engine.song.value import Bar, Song


@dataclass(frozen=True, slots=True)
class MelodyNote:
    """A sung or played note: `onset` and `duration` in whole notes from the song's start.

    `words` are what is sung on it, a syllable a verse.
    """

    onset: Fraction
    duration: Fraction
    pitch: Pitch
    words: Words = ()

    @property
    def end(self) -> Fraction:
        return self.onset + self.duration


def melody_notes(song: Song) -> tuple[MelodyNote, ...]:
    """All melody notes in order, ties joined, of chords the highest note.

    A melody longer than its section is heard up to the section's end. Raises
    SongError where a melody's text cannot be read, its place in that text.
    """
    out: list[MelodyNote] = []
    bars: dict[int, tuple[Bar, Bar]] = {}
    for bar in song.bars:
        bars[bar.section] = (bars.get(bar.section, (bar, bar))[0], bar)
    for index, section in enumerate(song.sections):
        if not section.melody or index not in bars:
            continue
        first, last = bars[index]
        out += _sung(section.melody, first.key, first.meter, first.start, last.end)
    return tuple(out)


def verse_counts(song: Song) -> dict[int, int]:
    """How many verses the words of each section have, by its index; without those that have none.

    Raises SongError as `melody_notes` does.
    """
    counts: dict[int, int] = {}
    for note in melody_notes(song):
        if note.words:
            section = song.bar_at(note.onset).section
            counts[section] = max(counts.get(section, 0), len(note.words))
    return counts


@lru_cache(maxsize=64)
def _sung(
    text: str, key: Key, meter: Meter, start: Fraction, end: Fraction
) -> tuple[MelodyNote, ...]:
    """The notes of one section's melody that begin before its end."""
    out: list[MelodyNote] = []
    for note in _joined(read_abc(text, key, meter).notes):
        onset = start + note.onset
        if onset < end:
            length = min(note.duration, end - onset)
            highest = max(note.pitches, key=lambda p: p.midi)
            out.append(MelodyNote(onset, length, highest, note.words))
    return tuple(out)


def _joined(notes: tuple[AbcNote, ...]) -> list[AbcNote]:
    """Sounding notes with tied ones made one."""
    out: list[AbcNote] = []
    open_tie = False
    for note in notes:
        if not note.pitches or not note.duration:
            open_tie = False
            continue
        last = out[-1] if out else None
        if open_tie and last is not None and _sound_alike(last, note):
            length = note.onset + note.duration - last.onset
            out[-1] = replace(last, duration=length, words=together(last.words, note.words))
        else:
            out.append(note)
        open_tie = note.tied
    return out


def _sound_alike(one: AbcNote, other: AbcNote) -> bool:
    """Whether a tie joins them: a note may be spelled anew over a barline or a change of key."""
    return {pitch.midi for pitch in one.pitches} == {pitch.midi for pitch in other.pitches}
