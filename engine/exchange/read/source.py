"""What a reader finds in a file (notes, chords, keys, meters, sections), and the report."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from engine.chord import Chord
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Pitch
from engine.song import Hand, Song
from engine.song.syllables import Words


class Sure(StrEnum):
    """How a line of the report came about."""

    UNDERSTOOD = "understood"  # it stood in the file
    GUESSED = "guessed"  # worked out from the notes, or filled in
    LEFT = "left"  # read over


@dataclass(frozen=True, slots=True)
class ReportLine:
    """One thing about one bar (counted from 1; 0 is the whole file)."""

    bar: int
    sure: Sure
    text: str


@dataclass(frozen=True, slots=True)
class Report:
    """What an import understood, guessed and left; `lines` by bar."""

    file: str
    format: str
    lines: tuple[ReportLine, ...]

    def count(self, sure: Sure) -> int:
        return sum(1 for line in self.lines if line.sure is sure)

    def text(self) -> str:
        """The report for people: a line a thing, bars in order."""
        head = (
            f"{self.file or 'the text'}, read as {self.format}:"
            f" understood {self.count(Sure.UNDERSTOOD)},"
            f" guessed {self.count(Sure.GUESSED)}, left {self.count(Sure.LEFT)}"
        )
        rows = [
            f"  {'whole file' if line.bar == 0 else f'bar {line.bar}'}: {line.sure}: {line.text}"
            for line in sorted(self.lines, key=lambda line: line.bar)
        ]
        return "\n".join([head, *rows])


@dataclass(frozen=True, slots=True)
class Imported:
    """A song read from a file, and the report of how."""

    song: Song
    report: Report


@dataclass(frozen=True, slots=True)
class SourceNote:
    """A note of the file, ties joined. Times in whole notes; `pitch` where the file spells it.

    `words` are what is sung on it, a syllable a verse.
    """

    onset: Fraction
    duration: Fraction
    midi: int
    pitch: Pitch | None = None
    hand: Hand | None = None
    words: Words = ()

    @property
    def end(self) -> Fraction:
        return self.onset + self.duration


@dataclass(frozen=True, slots=True)
class SourceChord:
    """A chord symbol of the file; `chord` None where none sounds, or where it is `open`."""

    onset: Fraction
    chord: Chord | None
    open: bool = False


@dataclass(slots=True)
class Source:
    """Everything found in a file, in its own time; what it doesn't say is empty or None."""

    format: str
    title: str = ""
    composer: str = ""
    rights: str = ""
    notes: list[SourceNote] = field(default_factory=list)  # of the piano part
    melody: list[SourceNote] = field(default_factory=list)
    chords: list[SourceChord] = field(default_factory=list)
    keys: list[tuple[Fraction, Key]] = field(default_factory=list)
    meters: list[tuple[Fraction, Meter]] = field(default_factory=list)
    tempi: list[tuple[Fraction, float]] = field(default_factory=list)  # quarters a minute
    sections: list[tuple[Fraction, str]] = field(default_factory=list)
    pedal: list[Fraction] = field(default_factory=list)  # where it is pressed anew
    bars: list[Fraction] = field(default_factory=list)  # bar starts, where the file has bars
    end: Fraction = Fraction(0)
    remarks: list[tuple[Fraction, Sure, str]] = field(default_factory=list)
    guessed: frozenset[str] = frozenset()  # `meter` and `tempo`, where the notes gave them

    def left(self, text: str, at: Fraction = Fraction(-1)) -> None:
        """Note what was read over; a negative place means the whole file."""
        remark = (at, Sure.LEFT, text)
        if remark not in self.remarks:
            self.remarks.append(remark)
