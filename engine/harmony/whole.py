"""Reading a whole song and finding its key."""

from __future__ import annotations

from dataclasses import replace

from engine.harmony.read import read_chord
from engine.harmony.value import ChordReading, KeyFinding, Reading, Region
from engine.key import Key
from engine.pitch import Note
from engine.song import Bar, Slot, Song

# Kostka-Payne profiles (Temperley 2007).
_PROFILES = {
    "major": (0.748, 0.060, 0.488, 0.082, 0.670, 0.460, 0.096, 0.715, 0.104, 0.366, 0.057, 0.400),
    "minor": (0.712, 0.084, 0.474, 0.618, 0.049, 0.460, 0.105, 0.747, 0.404, 0.067, 0.133, 0.330),
}


def _sounding(song: Song) -> list[tuple[Bar, int, Slot]]:
    return [
        (bar, at, slot)
        for bar in song.bars
        for at, slot in enumerate(bar.slots)
        if slot.chord is not None
    ]


def analyse(song: Song, *, fixed_key: bool = False) -> Reading:
    """Every chord of a song read in context; `fixed_key` keeps the keys written in the song."""
    found: list[ChordReading] = []
    places = _sounding(song)
    for n, (bar, at, slot) in enumerate(places):
        if slot.chord is None:
            continue
        before = places[n - 1][2].chord if n else None
        after = places[n + 1][2].chord if n + 1 < len(places) else None
        reading = read_chord(slot.chord, bar.key, before, after)
        found.append(replace(reading, bar=bar.number, slot=at, beat=bar.beat_of(slot.onset)))
    regions: list[Region] = []
    for bar in song.bars:
        if regions and regions[-1].key == bar.key:
            regions[-1] = replace(regions[-1], last=bar.number)
        else:
            regions.append(Region(bar.number, bar.number, bar.key))
    return Reading(tuple(found), tuple(regions))


def find_key(song: Song) -> KeyFinding:
    """The key of a song from its chords alone."""
    weights = [0.0] * 12
    for _, _, slot in _sounding(song):
        if slot.chord is not None:
            for pc in slot.chord.pitch_classes:
                weights[pc] += float(slot.duration)
    scores: list[tuple[float, Key]] = []
    for mode, profile in _PROFILES.items():
        for fifths in range(-5, 7):
            tonic = Note(fifths)
            fit = sum(weights[(pc + tonic.pc) % 12] * profile[pc] for pc in range(12))
            scores.append((fit / (sum(weights) or 1.0), Key(tonic, mode)))
    scores.sort(key=lambda item: -item[0])
    total = sum(score for score, _ in scores[:6]) or 1.0
    others = tuple((key, score / total) for score, key in scores[1:4])
    best = scores[0][1]
    last = song.bars[-1].number if song.bars else 1
    return KeyFinding(best, scores[0][0] / total, others, (Region(1, last, best),))
