"""What music21 reads in a written score, against what the part says: notes, ties, symbols."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from typing import Any

from engine.part import Part
from engine.song import Hand, Song

#: (staff from the top, pitch name, onset, duration in whole notes)
Attacks = Counter[tuple[int, str, Fraction, Fraction]]
#: (bar, onset in the bar, root, bass, pitch classes), or no name and no notes where none sounds
Symbols = list[tuple[int, Fraction, str, str, frozenset[int]]]


def read_back(xml: bytes) -> Any:
    import music21

    return music21.converter.parseData(xml.decode(), format="musicxml")


def notes_of(stream: Any, staves: int | None = None) -> Attacks:
    """Every attack of all staves or of the lowest ones, ties joined; a loose tie fails."""
    found: Attacks = Counter()
    for staff, part in enumerate(list(stream.parts)[-staves if staves else 0 :]):
        open_ties: dict[str, tuple[Fraction, Fraction]] = {}
        for onset, note, element in _heads(part):
            start, length = onset, Fraction(element.duration.quarterLength) / 4
            name = note.pitch.nameWithOctave.replace("-", "b").replace("##", "x")
            tie = note.tie.type if note.tie else None
            if tie in ("stop", "continue"):
                start, so_far = open_ties.pop(name)
                assert start + so_far == onset, f"a tie on {name} reaches {start + so_far}"
                length += so_far
            if tie in ("start", "continue"):
                assert name not in open_ties, f"two ties on {name} at {onset}"
                open_ties[name] = (start, length)
            else:
                found[staff, name, start, length] += 1
        assert not open_ties, f"ties that lead nowhere: {open_ties}"
    return found


def _heads(part: Any) -> list[tuple[Fraction, Any, Any]]:
    return sorted(
        (
            (Fraction(element.getOffsetInHierarchy(part)) / 4, note, element)
            for element in part.recurse().notes
            if "ChordSymbol" not in element.classes and "NoChord" not in element.classes
            for note in (element.notes if element.isChord else (element,))
        ),
        key=lambda item: item[0],
    )


def notes_of_part(part: Part) -> Attacks:
    return Counter(
        (0 if note.hand is Hand.RIGHT else 1, note.pitch.name, note.onset, note.duration)
        for note in part.notes
    )


def symbols_of(stream: Any) -> Symbols:
    """The chord symbols, as read."""
    found: Symbols = []
    for symbol in stream.recurse().getElementsByClass("Harmony"):
        place = (symbol.measureNumber, Fraction(symbol.offset) / 4)
        if "NoChord" in symbol.classes:
            found.append((*place, "", "", frozenset()))
            continue
        root, bass = (note.name.replace("-", "b") for note in (symbol.root(), symbol.bass()))
        found.append((*place, root, bass, frozenset(symbol.pitchClasses)))
    return found


def symbols_of_song(song: Song) -> Symbols:
    found: Symbols = []
    for bar in song.bars:
        for slot in bar.slots:
            chord = slot.chord
            if chord is None:
                found.append((bar.number, slot.onset, "", "", frozenset()))
                continue
            names = chord.root.name, chord.bass_note.name
            found.append((bar.number, slot.onset, *names, frozenset(chord.pitch_classes)))
    return found
