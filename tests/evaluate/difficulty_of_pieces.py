"""Grades of whole pieces in music21's corpus, easiest first, with their hardest bar and why.

A sanity check by ear and eye: a first prelude should come before a sonata, a sonata before a
rag. Fingers are the program's own, tempo is given here.

    python tests/evaluate/difficulty_of_pieces.py
"""

from __future__ import annotations

import warnings
from fractions import Fraction
from typing import Any

from engine.hands import Difficulty, difficulty
from engine.key import Key
from engine.part import PartNote, Role
from engine.pitch import Pitch
from engine.song import Hand, Song, read_song

#: Corpus path, meter, beats a minute, bars that count (the prelude without its fugue).
PIECES = [
    ("bach/bwv846", "4/4", 66, 35),
    ("mozart/k545", "4/4", 130, 400),
    ("chopin/mazurka06-2", "3/4", 140, 400),
    ("schumann_clara/polonaise_op1n1", "3/4", 90, 400),
    ("joplin/maple_leaf_rag", "2/4", 80, 400),
]
CHROMATIC = Key.parse("C major")


def song(meter: str, tempo: int, bars: int) -> Song:
    return read_song(
        f'format = 1\ntitle = "Piece"\nkey = "C major"\nmeter = "{meter}"\ntempo = {tempo}\n'
        f'[[section]]\nname = "A"\nchart = """\n{"| N.C. " * bars}|\n"""\n'
    )


def notes_of(score: Any, bar: Fraction, bars: int) -> list[PartNote]:
    found = []
    for part, hand in zip(score.parts, (Hand.RIGHT, Hand.LEFT), strict=False):
        for element in part.flatten().stripTies().notes:
            if element.duration.isGrace:
                continue
            onset = Fraction(element.offset).limit_denominator(96) / 4
            length = Fraction(element.duration.quarterLength).limit_denominator(96) / 4
            number = int(onset / bar) + 1
            found += [
                PartNote(
                    number, hand, Pitch.at_or_above(CHROMATIC.spell(pitch.midi % 12), pitch.midi),
                    onset, length or Fraction(1, 32), Role.CHORD,
                )
                for pitch in element.pitches
                if number <= bars
            ]  # fmt: skip
    return sorted(found, key=lambda n: (n.onset, n.hand is Hand.RIGHT, n.pitch.midi))


def graded(path: str, meter: str, tempo: int, bars: int) -> tuple[Difficulty, int]:
    """The grade of a corpus piece, and how many bars it has."""
    from music21 import corpus

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = corpus.parse(path)
    frame = song(meter, tempo, bars)
    notes = notes_of(score, frame.meter.bar, bars)
    last = max(note.bar for note in notes)
    return difficulty(notes, song(meter, tempo, last)), last


def main() -> None:
    """Print the pieces by grade."""
    rows = sorted(
        ((*graded(*piece), piece[0]) for piece in PIECES),
        key=lambda row: sum(bar.grade for bar in row[0].bars) / row[1],
    )
    for found, bars, path in rows:
        mean = sum(bar.grade for bar in found.bars) / bars
        worst = found.hardest[0]
        print(
            f"{path}: grade {found.grade}, bars {bars}, mean {mean:.1f}; bar {worst.bar} "
            f"{worst.grade:.1f}: {', '.join(worst.reasons[:3])}"
        )


if __name__ == "__main__":
    main()
