"""What practice writes is read, on every root; a misprint is underlined and put right."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from engine.chord import is_no_chord, parse_chord
from engine.errors import ChordError
from engine.pitch import Note

_TABLE = tomllib.loads(Path(__file__).with_name("written.toml").read_text(encoding="utf-8"))
_PRINTED = tomllib.loads(Path(__file__).with_name("printed.toml").read_text(encoding="utf-8"))
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
PRINTED = [
    pytest.param(suffixes, frozenset(int(place) for place in wanted.split()), id=f"{kind}-{wanted}")
    for kind, rows in _PRINTED.items()
    for wanted, suffixes in rows.items()
]
REFUSED = [
    [part.strip() for part in row.split(" | ")]
    for row in _TABLE["refused"]["table"].strip().splitlines()
]


def test_the_lists_are_long() -> None:
    assert len({suffix for suffix, _ in READ}) >= 300
    printed = {suffix for rows in _PRINTED.values() for line in rows.values() for suffix in line}
    assert len(printed) >= 1300
    assert len({row[0] for row in REFUSED}) >= 250


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


@pytest.mark.parametrize(("suffixes", "wanted"), PRINTED)
def test_what_print_has_is_read_on_every_root(suffixes: list[str], wanted: frozenset[int]) -> None:
    for suffix in suffixes:
        for root in _ROOTS:
            chord = parse_chord(root.name + suffix)
            assert {(pc - root.pc) % 12 for pc in chord.pitch_classes} == wanted, suffix
            assert parse_chord(chord.symbol) == chord


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("C/E", "C/E"), ("C / E", "C/E"), ("C/ E", "C/E"), ("C/(E)", "C/E"), ("C(/E)", "C/E"),
        ("C/E bass", "C/E"), ("Am/G-Bass", "Am/G"), ("C/Ebass", "C/E"), ("C (E bass)", "C/E"),
        ("C(Bb bass)", "C/Bb"), ("C(bass E)", "C/E"), ("C(onE)", "C/E"), ("ConE", "C/E"),
        ("Cm7onF", "Cm7/F"), ("C on B♭", "C/Bb"), ("C∕E", "C/E"), ("C⁄E", "C/E"), ("C／E", "C/E"),
        ("C7(b9)/E", "C7(b9)/E"), ("C6/9/E", "C6/9/E"), ("C/9/E", "C(add9)/E"), ("C/C", "C"),
        ("Ebm7 (Ab bass)", "Ebm7/Ab"),
    ],
)  # fmt: skip
def test_every_way_to_write_a_bass(text: str, symbol: str) -> None:
    """Common practice of songbooks, band scores and the web, no source."""
    assert parse_chord(text).symbol == symbol


@pytest.mark.parametrize(
    "text",
    ["N.C.", "NC", "N.C", "n.c.", "nc", "N/C", "N. C.", "No chord", "NO CHORD", "(N.C.)", " (NC) "],
)
def test_every_way_to_write_that_nothing_sounds(text: str) -> None:
    assert is_no_chord(text)
    with pytest.raises(ChordError):
        parse_chord(text)


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("Ｃ７", "C7"), ("Ｆ＃ｍ７", "F#m7"), ("Ｃｍａｊ７／Ｅ", "Cmaj7/E"), ("Cᵐᵃʲ⁷", "Cmaj7"),
        ("B\u266d\ufe0e7", "Bb7"), ("C\u200bmaj7", "Cmaj7"), ("\ufeffAm", "Am"), ("C\u200e7", "C7"),
        ("C\u00a0maj7", "Cmaj7"), ("D♭♭7", "Dbb7"), ("F𝄪m", "Fxm"), ("B𝄫", "Bbb"),
    ],
)  # fmt: skip
def test_signs_of_other_keyboards_are_read(text: str, symbol: str) -> None:
    assert parse_chord(text).symbol == symbol


@pytest.mark.parametrize("unseen", ["\u200b", "\u200f", "\ufe0f", "\ufeff"])
def test_what_cannot_be_seen_moves_no_underline(unseen: str) -> None:
    with pytest.raises(ChordError) as caught:
        parse_chord(f"B♭{unseen}m7{unseen}foo")
    place = caught.value.place
    assert place is not None
    assert (place.column, place.length) == (6 + 1, 3)


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
