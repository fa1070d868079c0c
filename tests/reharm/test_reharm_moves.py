"""Moves over a whole song: what each does, what it leaves alone, and that it heeds the melody."""

from __future__ import annotations

import pytest

from engine.errors import SongError
from engine.reharm import MOVES
from engine.song import Song
from tests.reharm.songs import song


def _typed(it: Song) -> list[str]:
    return [" ".join(slot.typed for slot in bar.slots) for bar in it.bars]


MOVED = {move.name: move.apply for move in MOVES}


@pytest.mark.parametrize(
    ("name", "key", "bars", "wanted"),
    [
        # simpler: triads in root position, a repeated chord joined, the cadence's roots kept
        ("simpler", "C major", "Cmaj7 | Am Am/G | F6 G7sus4 | C/G G7 | C6/9",
         "C | Am | F G | C G | C"),
        ("simpler", "C major", "C5 | F/A | N.C. | C", "C5 | F | N.C. | C"),
        # richer: the key's sevenths, none that the mode hasn't; a six-four stays
        ("richer", "C major", "C | F | G | C/G G7 | C", "Cmaj7 | Fmaj7 | G7 | C/G G9 | Cmaj7"),
        ("richer", "G mixolydian", "G | F | Dm | G", "G6 | Fmaj7 | Dm7 | G6"),
        ("richer", "D dorian", "Dm | G | Dm", "Dm7 | G6 | Dm7"),
        # nothing is added a semitone from a foreign bass
        ("richer", "G minor", "Gm Gm/F# | Gm/F Cm6/Eb | D7",
         "Gm7 Gm(add9)/F# | Gm7/F Cm6/9/Eb | D7"),
        ("richer", "Bb major", "Bb | Bb/Ab | Eb/G | F7", "Bbmaj7 | Bb7/Ab | Ebmaj7/G | F9"),
        # darker: borrowed where it leads on, never I or V; in minor the Neapolitan before V
        ("darker", "C major", "C | F | C | Dm | G7 | C", "C | Fm | C | Dm7b5 | G7 | C"),
        ("darker", "C major", "C | Em | Am | F | G", "C | Em | Am | Fm | G"),
        ("darker", "A minor", "Am | Dm | E7 | Am", "Am | Bb/D | E7 | Am"),
        # the other mode: by degrees, dominants kept, what leans on a chord leans on its new root
        ("other-mode", "C major", "C | Am | Dm7 | G7 | C", "Cm | Ab | Dm7b5 | G7 | Cm"),
        ("other-mode", "C major", "C | E7 | Am | Fm | C", "Cm | Eb7 | Ab | Fm | Cm"),
        ("other-mode", "C major", "C | D7/F# | G | Bb | C", "Cm | D7/F# | G | Bb | Cm"),
        ("other-mode", "C minor", "Cm | Eb | Bb | Fm | G7 | Cm", "C | Em | G | F | G7 | C"),
        ("other-mode", "C minor", "Cm | C7 | Fm | Ab | Bdim7 | Cm", "C | C7 | F | Am | Bm7b5 | C"),
        ("other-mode", "C minor", "Cm | Bb9sus4 | Bb/C | Cm", "C | G9sus4 | G/C | C"),
        ("other-mode", "C major", "C7 | F7 | C6 | G7 | C", "Cm7 | Fm7 | Cm | G7 | Cm"),
        # a seventh in the bass goes with its root; what is no chord of the key stays itself
        ("other-mode", "G minor", "Gm | F/Eb | Bb/D | Ebm6/Gb | D7 | Gm",
         "G | F#/E | Bm/D | Ebm6/Gb | D7 | G"),
        # a new bass: steps where inversions give them; ends, V–I and six-fours stay
        ("new-bass", "C major", "C | G | Am | C | F | C/G G7 | C",
         "C | G/B | Am | C/E | F | C/G G7 | C"),
    ],
)  # fmt: skip
def test_a_song_move_does_what_it_says(name: str, key: str, bars: str, wanted: str) -> None:
    assert _typed(MOVED[name](song(f"| {bars} |", key), None)) == wanted.split(" | ")


@pytest.mark.parametrize(
    ("name", "bars"),
    [("simpler", "C | F | G | C"), ("darker", "C | G7 | C"), ("richer", "N.C. | ?"),
     ("new-bass", "C | G | C")],
)  # fmt: skip
def test_a_song_move_that_changes_nothing_says_so(name: str, bars: str) -> None:
    with pytest.raises(SongError, match="nothing changes"):
        MOVED[name](song(f"| {bars} |"), None)


def test_a_song_move_heeds_the_melody() -> None:
    """A held against Fm, the third against its suspension, C against Cmaj7 would be semitones."""
    it = song("| Am7 | F | G7sus4 | C |", melody="E8 | A8 | c8 | c8")
    assert _typed(MOVED["simpler"](it, None))[2] == "G7sus4"
    assert _typed(MOVED["richer"](it, None))[3] == "C6"
    with pytest.raises(SongError, match="nothing changes"):
        MOVED["darker"](it, None)
