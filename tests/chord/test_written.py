"""What practice writes is read, on every root; a misprint is underlined and put right."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from engine.chord import parse_chord
from engine.errors import ChordError
from engine.pitch import Note

_TABLE = tomllib.loads(Path(__file__).with_name("written.toml").read_text(encoding="utf-8"))
#: The words of one suffix stand together where it is written with spaces.
_SPACED = ("7 no 5", "7 sus4", "7(omit 3)")
_ROOTS = [Note(fifths) for fifths in range(-8, 13)]


def _suffixes(line: str) -> list[str]:
    found = []
    for spaced in _SPACED:
        if f" {spaced}" in line:
            found.append(spaced)
            line = line.replace(f" {spaced}", "")
    return found + line.split()


READ = [
    (suffix, frozenset(int(semitones) for semitones in wanted.split()))
    for wanted, line in _TABLE["read"].items()
    for suffix in _suffixes(line)
]
REFUSED = [
    [part.strip() for part in row.split(" | ")]
    for row in _TABLE["refused"]["table"].strip().splitlines()
]


def test_the_lists_are_long() -> None:
    assert len({suffix for suffix, _ in READ}) >= 300
    assert len({row[0] for row in REFUSED}) >= 150


@pytest.mark.parametrize(("suffix", "wanted"), READ)
def test_what_practice_writes_is_read_on_every_root(suffix: str, wanted: frozenset[int]) -> None:
    for root in _ROOTS:
        for name in {root.name, root.symbol}:
            chord = parse_chord(name + suffix)
            pitch_classes = {(pc - root.pc) % 12 for pc in chord.pitch_classes}
            assert pitch_classes == wanted, name + suffix
            assert parse_chord(chord.symbol) == chord


@pytest.mark.parametrize(("suffix", "wanted"), READ)
def test_a_slash_bass_is_read_after_everything(suffix: str, wanted: frozenset[int]) -> None:
    for bass, above in (("F#", 6), ("B♭", 10), ("E", 4)):
        chord = parse_chord(f"C{suffix}/{bass}")
        assert chord.bass_note.pc == above
        assert chord.pitch_classes == wanted | {above}


@pytest.mark.parametrize(("symbol", "underlined", "nearest"), REFUSED)
def test_a_misprint_is_underlined_and_put_right(symbol: str, underlined: str, nearest: str) -> None:
    with pytest.raises(ChordError) as caught:
        parse_chord(symbol)
    place, proposed = caught.value.place, caught.value.suggestion
    assert place is not None
    start = place.column - 1
    assert symbol[start : start + place.length] == underlined
    assert proposed == ("" if nearest == "-" else nearest)
    assert not proposed or parse_chord(proposed)
