"""Compares the reader's numerals with an expert's on annotated popular songs.

    python -m tests.evaluate.harmony_popular [--show N]

The expert writes every chord by its own root in the major scale of the tonic (`II7` where this
project says `V7/V`; `-VII` is ♭VII in major and minor; a trailing letter b c d … is the bass as a
step above the root). So both are taken to root, third and bass before they are compared. Printed
beside it: how much is read as leaning on another degree, how much of that goes there, and where
the rest goes.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections import Counter
from itertools import groupby

from engine.harmony import Category, ChordReading, Step, read_progression
from tests.evaluate.harmony_songs import AnnotatedSong, songs

_DEGREES = ("I", "II", "III", "IV", "V", "VI", "VII")
_ABOVE = ("I", "bII", "II", "bIII", "III", "IV", "#IV", "V", "bVI", "VI", "bVII", "VII")
_MAJOR = (0, 2, 4, 5, 7, 9, 11)
_MINOR = (0, 2, 3, 5, 7, 8, 10)
_EXPERT = re.compile(r"([-#]*)([iv]+|[IV]+)[o+]?(?:[mM]?7|[mM])?([b-g]?)")
_OURS = re.compile(r"(sub)?([#b]*)([iv]+|[IV]+)[°ø+]?(\d*)(?:\(.*\))?")
_BY_NAME = {"N": 1, "It": 8, "Ger": 8, "Fr": 8, "Cad": 0}
_NAMED = re.compile(r"(CT|N|It|Ger|Fr|Cad)\D*(\d*)")
_INVERSIONS = {"6": "b", "64": "c", "65": "b", "43": "c", "42": "d"}
_SIXTHS = {"It6": "", "Ger65": "", "Fr43": "", "It64": "b", "Ger43": "b", "Fr42": "b"}
Told = tuple[int, bool | None, str]  # semitones above the tonic, minor third, letter of the bass


def expert(numeral: str) -> Told | None:
    """What the expert's numeral says; None where it names no chord on a degree."""
    match = _EXPERT.fullmatch(numeral)
    if match is None:
        return None
    root = _MAJOR[_DEGREES.index(match[2].upper())] + match[1].count("#") - match[1].count("-")
    return root % 12, match[2].islower(), match[3]


def ours(roman: str, minor: bool) -> Told:
    """What one of our numerals says, read from its text alone, in the expert's terms."""
    head, *targets = re.split(r"/(?=[#b]*[ivIV])", re.sub(r"/[A-G][#b]*$", "", roman))
    goal = sum(_degree(target, minor) for target in targets)
    named = _NAMED.fullmatch(head)
    if named is not None:
        if named[1] == "CT":
            return goal % 12, True, ""
        letter = _SIXTHS.get(head, "d") if head[0] in "IGF" else _INVERSIONS.get(named[2], "")
        return (_BY_NAME[named[1]] + goal) % 12, None, letter
    match = _OURS.fullmatch(head)
    assert match is not None, roman
    inversion = _INVERSIONS.get(match[4], "")
    if match[1]:
        return (goal + 1) % 12, False, inversion
    root = _degree(head, minor and not targets)
    return (goal + root) % 12, match[3].islower(), inversion


def _degree(text: str, minor: bool) -> int:
    match = re.match(r"([#b]*)([iv]+|[IV]+)([°ø]?)", text)
    assert match is not None, text
    leading = match[2] == "vii" and match[3] and not match[1]
    scale = _MAJOR if leading or not minor else _MINOR
    return scale[_DEGREES.index(match[2].upper())] + match[1].count("#") - match[1].count("b")


def same(wanted: Told, found: Told, thirdless: bool) -> bool:
    """Whether both say the same; the letters e, f and g (a foreign bass) are not compared."""
    return (
        wanted[0] == found[0]
        and (thirdless or found[1] is None or wanted[1] == found[1])
        and (wanted[2] in ("e", "f", "g") or wanted[2] == found[2])
    )


class Report:
    """What is counted over all songs."""

    def __init__(self) -> None:
        self.right = self.total = self.unread = self.leaning = self.goes = 0
        self.confused: Counter[tuple[str, str, str]] = Counter()
        self.seen: dict[tuple[str, str, str], str] = {}
        self.categories: Counter[str] = Counter()
        self.astray: Counter[tuple[str, str]] = Counter()

    def add(self, song: AnnotatedSong) -> None:
        placed = [(chord, chord.chord) for chord in song.chords if chord.chord is not None]
        readings = read_progression([Step(chord, place.key) for place, chord in placed])
        for (place, chord), reading in zip(placed, readings, strict=True):
            wanted = expert(place.numeral)
            if wanted is None:
                self.unread += 1
                continue
            self.total += 1
            if same(wanted, ours(reading.roman, place.key.is_minor), chord.third is None):
                self.right += 1
                continue
            pair = ("m" if place.key.is_minor else "M", place.numeral, reading.roman)
            self.confused[pair] += 1
            after = reading.after.symbol if reading.after else "the end"
            self.seen[pair] = f"{song.name} bar {place.bar}: {chord} before {after}"
        for _, alike in groupby(readings, key=lambda reading: (reading.chord, reading.key)):
            self._count(next(alike))

    def _count(self, reading: ChordReading) -> None:
        self.categories[str(reading.category)] += 1
        if reading.category not in (Category.APPLIED, Category.SUBSTITUTE):
            return
        self.leaning += 1
        self.goes += reading.resolves is True
        if not reading.resolves and reading.after is not None:
            above = (reading.after.root.pc - reading.key.tonic.pc) % 12
            self.astray[reading.roman, _ABOVE[above]] += 1

    def show(self, most: int) -> None:
        print(f"{self.right} of {self.total} numerals say the same: {self.right / self.total:.2%}"
              f" ({self.unread} name no degree)")  # fmt: skip
        print(f"{self.leaning} lean on another degree, {self.goes / self.leaning:.1%} go there")
        print(", ".join(f"{name} {count}" for name, count in self.categories.most_common()))
        for (roman, after), count in self.astray.most_common(most):
            print(f"{count:5} {roman:14} goes to {after}")
        for pair, count in self.confused.most_common(most):
            print(f"{count:5} {pair[0]} {pair[1]:8} read {pair[2]:16} {self.seen[pair]}")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--show", type=int, default=30, help="how many pairs to print")
    options = parser.parse_args()
    given = songs()
    if not given:
        print("the annotated songs are not beside this checkout", file=sys.stderr)
        return 2
    report = Report()
    for song in given:
        report.add(song)
    report.show(options.show)
    return 0


if __name__ == "__main__":
    sys.exit(main())
