"""Distances and movements against published values."""

from __future__ import annotations

import pytest

from engine.chord import parse_chord
from engine.harmony import chord_distance, common_tones, movement
from engine.key import Key
from engine.pitch import Note


@pytest.mark.parametrize(
    ("chord", "distance"), [("Dm", 8), ("Em", 7), ("F", 5), ("G", 5), ("Am", 7), ("Bdim", 8)]
)
def test_distances_in_tonal_pitch_space(chord: str, distance: int) -> None:
    """Lerdahl 2001, Tonal Pitch Space: from I in C major; here in every major key."""
    for fifths in range(-7, 8):
        key = Key(Note(fifths))
        tonic, other = (parse_chord(text).moved(Note(0).to(key.tonic)) for text in ("C", chord))
        assert chord_distance(tonic, key, other, key) == distance


# Tymoczko 2006, Science 313: 72, gives Cmaj7 to Emaj7; the others by the same method.
SIZES = """
Cmaj7 Emaj7 3;C F 3;C G 3;C Eb 3;C A 3;C E 2;C Ab 2;C F# 6;C Bb 6;C D 6;C Cm 1;C Em 1;C Am 2
C Fm 2;C Abm 3;Dm7 G7 3;G7 Cmaj7 3;Db7 Cmaj7 3;G7 Db7 2;Bm7b5 G7 2;Bdim7 G7 1
"""


@pytest.mark.parametrize("row", SIZES.replace("\n", ";").strip(";").split(";"))
def test_sizes_of_voice_leadings(row: str) -> None:
    one, two, wanted = row.split()
    moves = movement(parse_chord(one).notes, parse_chord(two).notes)
    assert sum(abs(move.semitones) for move in moves) == int(wanted)
    assert {move.note for move in moves} == set(parse_chord(one).notes)
    assert {move.to for move in moves} == set(parse_chord(two).notes)


def test_common_tones_are_those_of_both_chords() -> None:
    kept = common_tones(parse_chord("C").notes, parse_chord("Am7").notes)
    assert [note.name for note in kept] == ["C", "E", "G"]
