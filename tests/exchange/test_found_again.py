"""Song to part to MIDI file and back: chords and figures are found again.

The songs are the invented sample and the demo songs; tests/evaluate/found_again.py counts over
annotated popular songs.
"""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

import shared
from engine.exchange.read.evidence import Stretch
from engine.exchange.read.source import SourceNote
from engine.exchange.read.weigh import weigh
from engine.key import Key
from engine.song import Hand, build, read_song
from tests.evaluate.found_again import WAYS, Tally, found_again
from tests.training.training_songs import SAMPLE, song_of

DEMOS = (
    "ferry-at-dusk.toml", "harbour-steps.toml", "paper-lanterns.toml", "second-thoughts.toml",
    "windowsill-waltz.toml",
)  # fmt: skip
ROWS = [json.loads(line) for line in SAMPLE.read_text(encoding="utf-8").splitlines()]


def tally_of(*, symbols: bool) -> Tally:
    tally = Tally()
    for number, row in enumerate(ROWS * 2):
        song = song_of(row)
        settings = WAYS[number].over(song.settings)
        found_again(build(song.title, settings, song.sections), tally, symbols=symbols)
    return tally


def test_with_its_chord_symbols_a_file_gives_every_chord_and_nearly_every_figure() -> None:
    tally = tally_of(symbols=True)
    assert tally.share("symbol", "chords") == 1
    for hand in Hand:
        assert tally.share(f"{hand} sound", f"{hand} bars") >= 0.95, tally.misread


def test_demo_songs_from_notes_and_pedal_alone() -> None:
    """Nearly every chord whose notes are all struck is found; figures as far as chords allow."""
    tally = Tally()
    for name in DEMOS:
        found_again(read_song(shared.text("songs", name)), tally)
    assert tally.share("root", "chords") >= 0.95, tally.confused
    assert tally.share("struck and found", "struck") >= 0.9, tally.confused
    assert tally.share("left sound", "left bars") >= 0.95, tally.misread
    assert tally.share("right sound", "right bars") >= 0.88, tally.misread


def heard(*notes: tuple[str, int, int]) -> tuple[int, str]:
    """Root and suffix of one bar in C of (hand, eighth, midi), an eighth each."""
    made = [
        SourceNote(
            Fraction(at, 8), Fraction(1, 8), midi, hand=Hand.LEFT if hand == "l" else Hand.RIGHT
        )
        for hand, at, midi in notes
    ]
    lowest = min(made, key=lambda note: note.midi).midi % 12
    strong = frozenset({Fraction(0), Fraction(1, 2)})
    stretch = Stretch(Fraction(0), Fraction(1), lowest, Key.parse("C major"), strong)
    found = weigh([stretch], made)[0]
    return found.root, found.suffix


C_BELOW = (("l", 0, 36), ("l", 4, 43))


@pytest.mark.parametrize(
    ("line", "suffix"),
    [
        ((60, 64, 67, 69, 67, 64, 60, 64), ""),  # A is a neighbour of G
        ((60, 64, 67, 65, 64, 60, 64, 67), ""),  # F passes from G to E
        ((60, 64, 67, 70, 67, 64, 70, 64), "7"),  # B flat is left by leap: a member
        ((60, 64, 67, 71, 67, 64, 71, 67), "maj7"),
        ((60, 65, 67, 72, 67, 65, 60, 67), "sus4"),
        ((64, 60, 67, 60, 64, 60, 67, 60), ""),
    ],
)
def test_what_links_by_step_is_no_member(line: tuple[int, ...], suffix: str) -> None:
    notes = [*C_BELOW, *(("r", at, midi) for at, midi in enumerate(line))]
    assert heard(*notes) == (0, suffix)
