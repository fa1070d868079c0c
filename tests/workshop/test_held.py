"""Chords held on a keyboard, named in a key; keys are MIDI numbers (C4 is 60)."""

from __future__ import annotations

import pytest

from engine.key import Key
from engine.workshop.held import held_chord


@pytest.mark.parametrize(
    ("keys", "key", "symbol"),
    [
        ((48, 64, 67, 72), "C major", "C"),
        ((45, 60, 64), "C major", "Am"),
        ((52, 60, 67), "C major", "C/E"),
        ((43, 59, 62, 65), "C major", "G7"),
        ((44, 60, 63, 67), "Ab major", "Abmaj7"),
        ((49, 65, 68), "Ab major", "Db"),
        ((49, 65, 68), "F# major", "C#"),
        ((47, 62, 65, 69), "A minor", "Bm7b5"),
    ],
)
def test_a_held_chord_is_named_as_the_key_spells_it(
    keys: tuple[int, ...], key: str, symbol: str
) -> None:
    found = held_chord(keys, Key.parse(key))
    assert found is not None
    assert found.symbol == symbol


@pytest.mark.parametrize("keys", [(), (60,), (48, 60, 72)])
def test_one_note_is_no_chord(keys: tuple[int, ...]) -> None:
    assert held_chord(keys, Key.parse("C major")) is None
