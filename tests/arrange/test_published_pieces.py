"""Published music reproduced from its chord symbols and one figure a hand.

The notes come from music21's corpus: J. S. Bach, Prelude in C major BWV 846, bars 1–4, and
W. A. Mozart, Sonata in C major K. 545, first movement, bars 1–4, left hand.
"""

from fractions import Fraction
from typing import Any

import pytest

from engine.arrange import arrange
from engine.harmony import analyse
from engine.part import Part
from engine.song import Hand, read_song

NOTHING_ADDED = "busy = 0\noutside = 0\ndoubling = 0\nanticipation = 0\n"

PRELUDE = f"""
format = 1
title = "Prelude"
key = "C major"
meter = "4/4"
{NOTHING_ADDED}
[[section]]
name = "Opening"
chart = "| C C | Dm7/C Dm7/C | G7/B G7/B | C C |"
right = "x x 1 2 3 1 2 3 x x 1 2 3 1 2 3"
left = "R_ 3 . . . . . . R_ 3 . . . . . ."
[section.bar.1]
shape = "G4 C5 E5, bass C4"
"""

SONATA = f"""
format = 1
title = "Sonata"
key = "C major"
meter = "4/4"
tempo = 120
{NOTHING_ADDED}
[[section]]
name = "Opening"
chart = "| C | G7/D C | F/C C | G/B C |"
right = "x"
left = "R 5 3 5 R 5 3 5"
"""


def _arranged(text: str) -> Part:
    song = read_song(text)
    return arrange(song, analyse(song))


def _notes(part: Part, hand: Hand) -> list[tuple[Fraction, int, Fraction]]:
    return [(n.onset, n.pitch.midi, n.duration) for n in part.notes if n.hand is hand]


def _printed(piece: str, hand: int, bars: int) -> list[tuple[Fraction, int, Fraction]]:
    """(onset, MIDI number, duration) of a staff in whole notes, ties joined."""
    corpus: Any = pytest.importorskip("music21").corpus
    stream = corpus.parse(piece).parts[hand].measures(1, bars).stripTies().flatten()
    found = []
    for note in stream.notes:
        for pitch in note.pitches:
            onset = Fraction(note.offset) / 4
            found.append((onset, int(pitch.midi), Fraction(note.duration.quarterLength) / 4))
    return sorted(found)


def test_the_c_major_prelude_comes_from_its_chords_one_figure_a_hand_and_one_pin() -> None:
    part = _arranged(PRELUDE)
    assert _notes(part, Hand.RIGHT) == _printed("bwv846", 0, 4)
    assert sorted(_notes(part, Hand.LEFT)) == _printed("bwv846", 1, 4)


def test_the_sonatas_left_hand_comes_from_its_chords_and_one_figure_without_a_pin() -> None:
    part = _arranged(SONATA)
    expected = _printed("mozart/k545/movement1_exposition", 1, 4)
    assert _notes(part, Hand.LEFT) == expected
    assert _notes(part, Hand.RIGHT) == []
