"""Two pieces from their chords and one figure a hand, learned from their first bar.

Bach's C major prelude BWV 846 (each half-bar a figure of its own) and the left hand of the opening
of Mozart's sonata K. 545, from music21's corpus. For each bar the script tells which share of the
piece's notes (onset and pitch) the arranger gives from the chords alone, and from the chords with
the piece's own shape pinned; the chord symbols are a reading of the scores made for this script.

    python -m tests.evaluate.learned_figures
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from engine.arrange import arrange
from engine.figures import Heard, Learned, learn_bar
from engine.harmony import analyse
from engine.pitch import Pitch
from engine.song import Hand, Song, read_song

PRELUDE = [
    "C", "Dm7/C", "G7/B", "C", "Am/C", "D7/C", "G/B", "Cmaj7/B", "Am7", "D7", "G", "C#dim7/G",
    "Dm/F", "Bdim7/F", "C/E", "Fmaj7/E", "Dm7", "G7", "C", "C7", "Fmaj7", "F#dim7", "Bdim7/Ab",
    "G7", "C/G", "G7", "F#dim7/G", "C/G", "G7sus4", "G7", "C7",
]  # fmt: skip
SONATA = ["C C", "G7/D C", "F/C C", "G/B C"]


@dataclass(frozen=True)
class Piece:
    """A piece's notes by hand, onsets from the start in whole notes, and its chart."""

    name: str
    bars: tuple[str, ...]
    notes: dict[Hand, tuple[Heard, ...]]

    def in_bar(self, hand: Hand, bar: int) -> tuple[Heard, ...]:
        """A bar's notes with onsets from the bar's start; bars count from 0."""
        return tuple(
            Heard(note.onset - bar, note.duration, note.midi)
            for note in self.notes[hand]
            if bar <= note.onset < bar + 1
        )

    def song(
        self, right: str, left: str, shapes: Sequence[str] = (), first: int = 0, count: int = 99
    ) -> Song:
        """The piece's chart as a song, with a figure for each hand and, if given, pinned shapes."""
        lines = [
            'format = 1\ntitle = "Trial"\nkey = "C major"\nmeter = "4/4"\ntempo = 66',
            "busy = 0.0\noutside = 0.0\ndoubling = 0.0\nanticipation = 0.0",
            f'right = "{right}"\nleft = "{left}"\nreach = "tenth"\n[[section]]\nname = "A"',
            'chart = """',
            "\n".join(f"| {bar} |" for bar in self.bars[first : first + count]),
            '"""',
        ]
        for bar, shape in enumerate(shapes, 1):
            lines.append(f'[section.bar.{bar}]\nshape = "{shape}"')
        return read_song("\n".join(lines))


def prelude() -> Piece:
    """BWV 846, bars 1 to 31: every bar of one harmony and the same figure twice.

    The corpus's score has one G7 where other editions have G7sus4 and G7 (bars 26 and 27).
    """
    score = _score("bach/bwv846")
    hands = {
        hand: tuple(note for note in _notes(part) if note.onset < len(PRELUDE))
        for hand, part in zip(
            (Hand.RIGHT, Hand.LEFT), (score.parts[0], score.parts[1]), strict=True
        )
    }
    return Piece("BWV 846", tuple(f"{chord} {chord}" for chord in PRELUDE), hands)


def sonata() -> Piece:
    """The left hand of K. 545, bars 1 to 4."""
    score = _score("mozart/k545")
    left = tuple(note for note in _notes(score.parts[1]) if note.onset < len(SONATA))
    return Piece("K. 545, left hand", tuple(SONATA), {Hand.LEFT: left, Hand.RIGHT: ()})


def _score(path: str) -> Any:
    from music21 import corpus

    return corpus.parse(path)


def _notes(part: Any) -> list[Heard]:
    """Attacks of a part with ties joined, in whole notes."""
    found = []
    for element in part.flatten().stripTies().notes:
        if element.duration.isGrace:
            continue
        onset = Fraction(element.offset).limit_denominator(96) / 4
        length = Fraction(element.duration.quarterLength).limit_denominator(96) / 4
        found += [Heard(onset, length, pitch.midi) for pitch in element.pitches]
    return sorted(found, key=lambda note: (note.onset, note.midi))


def learned_from(piece: Piece, hand: Hand, bar: int = 0) -> Learned:
    """The figure of one bar of a piece."""
    song = piece.song("x", "x")
    reading = analyse(song)
    return learn_bar(piece.in_bar(hand, bar), hand, song, reading, bar + 1)


@dataclass(frozen=True)
class Share:
    """How many of a bar's notes were reproduced, in their octave and by pitch class."""

    bar: int
    notes: int
    exact: int
    classes: int


def reproduced(piece: Piece, song: Song, first: int = 0) -> list[Share]:
    """Bar by bar what the arranger gives of a piece."""
    part = arrange(song, analyse(song))
    found = []
    for index in range(len(song.bars)):
        wanted = {
            (hand, note.onset, note.midi)
            for hand in Hand
            for note in piece.in_bar(hand, first + index)
        }
        given = {
            (note.hand, note.onset - index, note.pitch.midi)
            for note in part.notes
            if note.bar == index + 1
        }
        classes = {(hand, onset, midi % 12) for hand, onset, midi in given}
        found.append(
            Share(
                first + index + 1,
                len(wanted),
                len(wanted & given),
                sum((hand, onset, midi % 12) in classes for hand, onset, midi in wanted),
            )
        )
    return found


def pinned_shapes(piece: Piece) -> list[str]:
    """The piece's own shape and bass in each half-bar, as a song file writes them."""
    half = Fraction(1, 2)
    texts = []
    for bar in range(len(piece.bars)):
        groups = []
        for start in (Fraction(0), half):
            right = sorted(
                {n.midi for n in piece.in_bar(Hand.RIGHT, bar) if start <= n.onset < start + half}
            )
            left = min(
                n.midi for n in piece.in_bar(Hand.LEFT, bar) if start <= n.onset < start + half
            )
            names = " ".join(_name(midi) for midi in right)
            groups.append((names + ", " if names else "") + f"bass {_name(left)}")
        texts.append(" | ".join(groups))
    return texts


def _name(midi: int) -> str:
    names = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
    return f"{Pitch.parse(f'{names[midi % 12]}{midi // 12 - 1}').name}"


def report(piece: Piece) -> None:
    """Print the figures learned from bar 1 and the shares they reproduce."""
    figures = {}
    for hand in Hand:
        if piece.notes[hand]:
            found = learned_from(piece, hand)
            figures[hand] = found.figure.text
            print(
                f"{piece.name}: {hand.value} hand learned from bar 1: {found.figure.text}"
                f"{'' if found.exact else ' (not exact)'}"
            )
        else:
            figures[hand] = "x"
    right, left = figures[Hand.RIGHT], figures[Hand.LEFT]
    shapes = pinned_shapes(piece)
    trials = {
        "from chords alone": reproduced(piece, piece.song(right, left)),
        "with bar 1's shape pinned": reproduced(piece, piece.song(right, left, shapes[:1])),
        "with every shape pinned": reproduced(piece, piece.song(right, left, shapes)),
    }
    print("bar  chords              notes  from chords  bar 1 pinned  all pinned")
    for index, bar in enumerate(piece.bars):
        free, first, held = (shares[index] for shares in trials.values())
        print(
            f"{free.bar:3}  {bar:18}  {free.notes:5}  {free.exact:11}  {first.exact:12}"
            f"  {held.exact:10}"
        )
    for label, shares in trials.items():
        notes = sum(share.notes for share in shares)
        exact = sum(share.exact for share in shares)
        classes = sum(share.classes for share in shares)
        whole = sum(share.exact == share.notes for share in shares)
        print(
            f"{label}: {exact / notes:.1%} of {notes} notes, {classes / notes:.1%} by pitch"
            f" class, {whole} of {len(shares)} bars whole"
        )
    print()


if __name__ == "__main__":
    report(prelude())
    report(sonata())
