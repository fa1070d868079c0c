"""A key for a singer: the transposition in which the melody lies best in a voice's range."""

from __future__ import annotations

from fractions import Fraction

from engine.pitch import Interval
from engine.song.melody import MelodyNote, melody_notes
from engine.song.value import Song

#: What a whole note costs for each semitone that it lies outside the range, and at its edge.
_OUTSIDE, _AT_THE_EDGE = 40.0, 2.0
_EDGE = 2  # semitones at either end that are sung seldom
#: What one semitone off the range's middle costs, and one accidental in the signature.
_OFF_MIDDLE, _ACCIDENTAL = 0.05, 0.02


def interval_for_voice(song: Song, low: int, high: int) -> Interval:
    """The interval by which to transpose for a range of MIDI numbers, its extremes seldom sung.

    Without a melody the tonic's octave is put nearest to the range's middle.
    Raises SongError where a melody cannot be read.
    """
    notes = melody_notes(song)
    shifts = sorted(range(-5, 7), key=lambda shift: (abs(shift), shift))
    if not notes:
        aim = (low + high) / 2 - 6
        tonic = song.key.tonic.pc
        best = min(shifts, key=lambda shift: abs((tonic + shift - aim + 6) % 12 - 6))
        return Interval.of_semitones(best)
    octaves = sorted(
        (shift + octave for shift in shifts for octave in (-24, -12, 0, 12, 24)), key=abs
    )
    best = min(octaves, key=lambda shift: _cost(song, notes, shift, low, high))
    return Interval.of_semitones(best)


def _cost(
    song: Song, notes: tuple[MelodyNote, ...], shift: int, low: int, high: int
) -> tuple[float, int]:
    cost, length, middle = 0.0, Fraction(0), Fraction(0)
    for note in notes:
        midi = note.pitch.midi + shift
        beyond = max(low - midi, midi - high, 0)
        edge = min(midi - low, high - midi) < _EDGE
        cost += float(note.duration) * (_OUTSIDE * beyond if beyond else _AT_THE_EDGE * edge)
        length += note.duration
        middle += note.duration * midi
    off = abs(float(middle / length) - (low + high) / 2)
    accidentals = abs(song.key.moved(Interval.of_semitones(shift)).signature)
    return cost / float(length) + _OFF_MIDDLE * off + _ACCIDENTAL * accidentals, abs(shift)
