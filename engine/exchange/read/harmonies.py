"""The chords that a file's notes make: where they change, which they are, how they are spelled."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from engine.chord import Chord, parse_chord
from engine.exchange.read import recognise as hearing
from engine.exchange.read.evidence import Stretch
from engine.exchange.read.source import Source, SourceNote
from engine.exchange.read.weigh import weigh
from engine.figures import Heard
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Note

#: Below this the second-best chord was nearly as good.
CLEAR = 0.12
#: From this share of attacks with at most two notes on, music is broken chords.
BROKEN = 0.6


@dataclass(frozen=True, slots=True)
class FrameBar:
    """A bar of the song to be: its start in the file's time and its meter."""

    start: Fraction
    meter: Meter

    @property
    def end(self) -> Fraction:
        return self.start + self.meter.bar


@dataclass(frozen=True, slots=True)
class Harmony:
    """A chord from `onset` on; None where nothing sounds, or where a file leaves it `open`."""

    onset: Fraction
    chord: Chord | None
    open: bool = False


def heard_harmonies(
    source: Source, bars: Sequence[FrameBar], key: Key | None
) -> tuple[list[Harmony], set[Fraction]]:
    """The chords that the notes make, and the onsets of those that another fits nearly as well.

    `key` is the song's, where it is known already; the file's own later keys count too.
    """
    notes = sorted([*source.notes, *source.melody], key=lambda note: (note.onset, note.midi))
    sounds = [Heard(note.onset, note.duration, note.midi) for note in notes]
    scale = {note.pc for note in key.scale} if key is not None else set()
    places = _places(bars, source)
    found = hearing.stretches(sounds, places, scale)
    keys = _Keys(source, key)
    sounding = [one for one in found if one.root is not None]
    if _broken(notes):
        sounding = _second_hearing(sounding, notes, places, keys)
    rough = key or key_of_notes(notes)
    chords = {one.onset: (_spelled(one, keys.at(one.onset) or rough), one) for one in sounding}
    harmonies: list[Harmony] = []
    unclear: set[Fraction] = set()
    for one in found:
        chord, heard = chords.get(one.onset, (None, None))
        if heard is not None and heard.clear < CLEAR:
            unclear.add(one.onset)
        if not harmonies or harmonies[-1].chord != chord:
            harmonies.append(Harmony(one.onset, chord))
    return harmonies, unclear


def _broken(notes: Sequence[SourceNote]) -> bool:
    """Whether these are broken chords: most attacks strike a note or two."""
    struck = Counter(note.onset for note in notes)
    return sum(count <= 2 for count in struck.values()) >= BROKEN * len(struck)


def _second_hearing(
    found: Sequence[hearing.Recognised],
    notes: Sequence[SourceNote],
    places: Sequence[hearing.Place],
    keys: _Keys,
) -> list[hearing.Recognised]:
    strong = frozenset(place.at for place in places if place.strength >= 2)
    stretches = [
        Stretch(one.onset, one.onset + one.duration, one.bass, keys.at(one.onset), strong)
        for one in found
    ]
    return [
        replace(one, root=heard.root, suffix=heard.suffix, clear=heard.clear)
        for one, heard in zip(found, weigh(stretches, notes), strict=True)
    ]


class _Keys:
    """The key at each place: the file's, else one for all."""

    def __init__(self, source: Source, key: Key | None) -> None:
        self.usual = key
        self.changes = source.keys
        self.places = [at for at, _ in source.keys]

    def at(self, onset: Fraction) -> Key | None:
        index = bisect_right(self.places, onset) - 1
        return self.changes[index][1] if index >= 0 else self.usual


@lru_cache(maxsize=64)
def _beats(meter: Meter) -> tuple[tuple[Fraction, int], ...]:
    """The beats of a bar with their strengths."""
    places = [n * meter.beat for n in range(max(1, meter.beats))]
    return tuple((place, meter.strength(place)) for place in places)


def _places(bars: Sequence[FrameBar], source: Source) -> list[hearing.Place]:
    """Every beat of every bar, and whether the pedal is pressed anew on it."""
    cuts = set(source.pedal)
    out: list[hearing.Place] = []
    for bar in bars:
        for inside, strength in _beats(bar.meter):
            at = bar.start + inside
            out.append(hearing.Place(at, strength, at in cuts))
    out.append(hearing.Place(bars[-1].end, 4))
    return out


def _spelled(heard: hearing.Recognised, key: Key) -> Chord:
    assert heard.root is not None
    root = key.spell(heard.root)
    plain = parse_chord(root.name + heard.suffix)
    if max(abs(note.alter) for note in plain.notes) > 1:
        other = Note(root.fifths + (12 if root.fifths < key.tonic.fifths else -12))
        again = parse_chord(other.name + heard.suffix)
        if max(abs(n.alter) for n in again.notes) < max(abs(n.alter) for n in plain.notes):
            plain = again
    if heard.bass == plain.root.pc:
        return plain
    own = [note for note in plain.notes if note.pc == heard.bass]
    return replace(plain, bass=own[0] if own else key.spell(heard.bass))


def key_of_notes(notes: Sequence[SourceNote]) -> Key:
    """The key by pitch-class profile: Albrecht & Shanahan 2013, Euclidean distance."""
    weights = [0.0] * 12
    for note in notes:
        weights[note.midi % 12] += float(note.duration)
    total = sum(weights) or 1.0
    best: tuple[float, Key] | None = None
    for mode, profile in _PROFILES.items():
        for fifths in range(-5, 7):
            key = Key(Note(fifths), mode)
            far = sum(
                (weights[(pc + key.tonic.pc) % 12] / total - profile[pc]) ** 2 for pc in range(12)
            )
            if best is None or far < best[0]:
                best = (far, key)
    assert best is not None
    return best[1]


_PROFILES = {
    "major": (0.238, 0.006, 0.111, 0.006, 0.137, 0.094, 0.016, 0.214, 0.009, 0.080, 0.008, 0.081),
    "minor": (0.220, 0.006, 0.104, 0.123, 0.019, 0.103, 0.012, 0.214, 0.062, 0.022, 0.061, 0.052),
}
