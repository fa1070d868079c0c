"""The kinds of MusicXML 4.0 that name a function rather than a stack of thirds.

Of its 33 kinds `other` and `none` have no notes, and `Neapolitan` is the major triad on the lowered
second degree (checked among the worked numerals); `tests/chord` checks the 26 that are stacks.
"""

from __future__ import annotations

from typing import Any

import pytest

from engine.chord import parse_chord
from engine.harmony import analyse
from engine.key import Key
from engine.pitch import Interval, Note
from engine.song import Section, Settings
from engine.song.build import build


def _names(kind: str, tonic: Note) -> set[str]:
    harmony: Any = pytest.importorskip("music21").harmony
    symbol = harmony.ChordSymbol(root=tonic.name.replace("b", "-"), kind=kind)
    return {p.name.replace("-", "b").replace("##", "x") for p in symbol.pitches}


@pytest.mark.parametrize("fifths", range(-6, 7))
@pytest.mark.parametrize(
    ("kind", "suffix", "roman"),
    [("Italian", "7(no5)", "It6"), ("French", "7b5", "Fr43"), ("German", "7", "Ger65")],
)
def test_augmented_sixths_are_spelled_as_music21_spells_them(
    fifths: int, kind: str, suffix: str, roman: str
) -> None:
    """music21's ChordSymbol spells these kinds above the tonic they belong to, on all roots."""
    key = Key(Note(fifths + 3), "minor")
    sixth = key.tonic + Interval.parse("m6")
    chart = f"| {sixth.name}{suffix} | {(key.tonic + Interval.parse('P5')).name} |"
    reading = analyse(build("", Settings(key=key), [Section("A", chart)]), fixed_key=True)
    found = reading.at(1, 0)
    assert found is not None
    assert found.roman == roman
    assert {note.name for note in found.notes} == _names(kind, key.tonic)


@pytest.mark.parametrize("fifths", range(-6, 7))
def test_the_tristan_chord_sounds_as_a_half_diminished_seventh(fifths: int) -> None:
    root = Note(fifths)
    harmony: Any = pytest.importorskip("music21").harmony
    symbol = harmony.ChordSymbol(root=root.name.replace("b", "-"), kind="Tristan")
    theirs = {p.pitchClass for p in symbol.pitches}
    assert parse_chord(f"{root.name}m7b5").pitch_classes == theirs
