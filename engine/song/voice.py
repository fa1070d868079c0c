"""A key for a singer: the transpositions in which the melody lies best in a voice's range."""

from __future__ import annotations

import re
from dataclasses import dataclass

from engine.errors import PitchError, Place
from engine.key import Key
from engine.pitch import NOTE_PATTERN, Interval, Pitch
from engine.song.melody import melody_notes
from engine.song.value import Song

#: What a whole note costs for each semitone that it lies outside the range, and at its edge.
_OUTSIDE, _AT_THE_EDGE = 40.0, 2.0
_EDGE = 2  # semitones at either end that are sung seldom
#: What one semitone off the range's middle costs, and one accidental in the signature.
_OFF_MIDDLE, _ACCIDENTAL = 0.05, 0.02


@dataclass(frozen=True, slots=True)
class VoiceKey:
    """A key for a voice: the interval to it, and how the melody lies there.

    `low` and `high` are the melody's ends, None without a melody; `below` and
    `above` how many semitones they pass the range, `outside` how many of its
    `count` notes do.
    """

    key: Key
    interval: Interval
    low: Pitch | None = None
    high: Pitch | None = None
    below: int = 0
    above: int = 0
    outside: int = 0
    count: int = 0

    @property
    def fits(self) -> bool:
        return not self.outside

    @property
    def says(self) -> str:
        """One sentence of how it lies."""
        if self.low is None or self.high is None:
            return "The song has no melody: its tonic alone is put into the range."
        span = f"The melody goes from {self.low.symbol} to {self.high.symbol}"
        if self.fits:
            return f"{span}: all of it lies in the range."
        ends = [
            f"{number} semitone{'s' if number > 1 else ''} too {word}"
            for number, word in ((self.below, "low"), (self.above, "high"))
            if number
        ]
        notes = "note lies" if self.outside == 1 else "notes lie"
        return f"{span}: {self.outside} of {self.count} {notes} outside, up to {', '.join(ends)}."


def read_range(text: str) -> tuple[int, int]:
    """The MIDI numbers of a range like `A3-D5` or `a3-d5`. Raises PitchError."""
    ends = [end[:1].upper() + end[1:] for end in re.split(r"\s*[-–]\s*", text.strip())]
    if len(ends) == 2 and all(re.fullmatch(rf"{NOTE_PATTERN}\d", end) for end in ends):
        low, high = (Pitch.parse(end).midi for end in ends)
        if low < high:
            return low, high
    raise PitchError(
        f"“{text}” is not a range",
        "write its lowest and highest note, like A3-D5; C4 is middle C",
        Place(1, max(1, len(text)), text=text),
    )


def voice_keys(song: Song, low: int, high: int, count: int = 6) -> tuple[VoiceKey, ...]:
    """Keys for a voice of a range of MIDI numbers, the best first, each key once.

    The best has the melody's extremes seldom sung; without a melody its tonic's
    octave is nearest to the range's middle. Raises SongError where a melody cannot be read.
    """
    notes = [(note.pitch, float(note.duration)) for note in melody_notes(song)]
    shifts = sorted(range(-5, 7), key=lambda shift: (abs(shift), shift))
    if not notes:
        aim = (low + high) / 2 - 6
        tonic = song.key.tonic.pc
        shifts.sort(key=lambda shift: abs((tonic + shift - aim + 6) % 12 - 6))
        intervals = [Interval.of_semitones(shift) for shift in shifts[:count]]
        return tuple(VoiceKey(song.key.moved(each), each) for each in intervals)
    lengths: dict[int, float] = {}
    for pitch, duration in notes:
        lengths[pitch.midi] = lengths.get(pitch.midi, 0.0) + duration
    octaves = sorted(
        (shift + octave for shift in shifts for octave in (-24, -12, 0, 12, 24)), key=abs
    )
    octaves.sort(key=lambda shift: _cost(song, lengths, shift, low, high))
    found: dict[int, VoiceKey] = {}
    for shift in octaves:
        found.setdefault(shift % 12, _lying(song, [pitch for pitch, _ in notes], shift, low, high))
        if len(found) == count:
            break
    return tuple(found.values())


def _lying(song: Song, pitches: list[Pitch], shift: int, low: int, high: int) -> VoiceKey:
    interval = Interval.of_semitones(shift)
    moved = sorted((pitch + interval for pitch in pitches), key=lambda pitch: pitch.midi)
    return VoiceKey(
        song.key.moved(interval),
        interval,
        moved[0],
        moved[-1],
        max(0, low - moved[0].midi),
        max(0, moved[-1].midi - high),
        sum(1 for pitch in moved if not low <= pitch.midi <= high),
        len(moved),
    )


def _cost(
    song: Song, lengths: dict[int, float], shift: int, low: int, high: int
) -> tuple[float, int]:
    """`lengths` is how long each MIDI number sounds, in whole notes."""
    cost, length, middle = 0.0, 0.0, 0.0
    for number, duration in lengths.items():
        midi = number + shift
        beyond = max(low - midi, midi - high, 0)
        edge = min(midi - low, high - midi) < _EDGE
        cost += duration * (_OUTSIDE * beyond if beyond else _AT_THE_EDGE * edge)
        length += duration
        middle += duration * midi
    off = abs(middle / length - (low + high) / 2)
    accidentals = abs(song.key.moved(Interval.of_semitones(shift)).signature)
    return cost / length + _OFF_MIDDLE * off + _ACCIDENTAL * accidentals, abs(shift)
