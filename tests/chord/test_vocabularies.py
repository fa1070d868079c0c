"""Symbols of other vocabularies: the same notes by this project's reader and by theirs."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import pytest

from engine.chord import parse_chord

#: Bars of music21's file that are no check: 11 uses a kind outside MusicXML 4.0, in 54 the text
#: and the data differ, 55 to 57 are functions, not symbols.
_NO_CHECK = {11, 54, 55, 56, 57}


@lru_cache(maxsize=1)
def _comprehensive() -> dict[int, tuple[str, frozenset[int]]]:
    """By bar: the symbol as the file prints it, and the pitch classes music21 gives it.

    music21's `demos/ComprehensiveChordSymbolsTestFile.mxl`.
    """
    music21: Any = pytest.importorskip("music21")
    score = music21.corpus.parse("demos/ComprehensiveChordSymbolsTestFile")
    found = {}
    for symbol in score.recurse().getElementsByClass("ChordSymbol"):
        root, bass = (
            note.name.replace("-", "b") for note in (symbol.root(find=False), symbol.bass())
        )
        text = root + (symbol.chordKindStr or "") + (f"/{bass}" if bass != root else "")
        found[symbol.measureNumber] = text, frozenset(p.pitchClass for p in symbol.pitches)
    return found


@pytest.mark.parametrize("bar", sorted(set(range(1, 58)) - _NO_CHECK))
def test_comprehensive_symbols_have_the_notes_music21_gives_them(bar: int) -> None:
    text, wanted = _comprehensive()[bar]
    assert parse_chord(text).pitch_classes == wanted, text


#: Abbreviations of music21's that are no check: functions and words; `+11`, which practice also
#: writes for a raised eleventh and which is asked about; `ob9` and `dimb9`, which are triads here.
_NO_ABBREVIATION = {"N6", "It+6", "It", "Fr+6", "Fr", "Gr+6", "Ger", "pedal", "power", "tristan"}
_OTHERWISE = {"+11", "ob9", "dimb9"}


def test_every_abbreviation_music21_lists_has_the_notes_of_its_kind() -> None:
    """`harmony.CHORD_TYPES`: each kind with the ways to write it."""
    harmony: Any = pytest.importorskip("music21.harmony")
    checked = 0
    for kind, (_, abbreviations) in harmony.CHORD_TYPES.items():
        for written in set(abbreviations) - _NO_ABBREVIATION - _OTHERWISE:
            theirs = {
                pitch.pitchClass for pitch in harmony.ChordSymbol(root="D", kind=kind).pitches
            }
            assert parse_chord(f"D{written}").pitch_classes == theirs, (kind, written)
            checked += 1
    assert checked >= 80


@lru_cache(maxsize=1)
def _harte() -> dict[str, frozenset[int]]:
    """Shorthand to semitones above the root, as mir_eval.chord encodes them.

    Its ninths and beyond are left out: it encodes them as sevenths.
    """
    chord: Any = pytest.importorskip("mir_eval").chord
    tall = ("9", "11", "13")
    return {
        name: frozenset(place for place, on in enumerate(bits) if on)
        for name, bits in chord.QUALITIES.items()
        if name and not name.endswith(tall)
    }


@pytest.mark.parametrize("root", ["C", "F#", "Bb"])
def test_shorthand_of_harte_syntax_is_read_as_mir_eval_encodes_it(root: str) -> None:
    assert len(_harte()) >= 14
    for name, wanted in _harte().items():
        chord = parse_chord(root + name)
        assert {(pc - chord.root.pc) % 12 for pc in chord.pitch_classes} == wanted, name
