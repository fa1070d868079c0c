"""Compares the reader's numerals with an expert's on annotated popular songs.

    python -m tests.evaluate.harmony_popular [--show N]

The expert writes every chord by its own root in the major scale of the tonic (`II7` where this
project says `V7/V`; `-VII` is ♭VII in major and minor; a trailing letter b c d … is the bass as a
step above the root). So both are taken to root, third, seventh and bass before they are compared.
Printed beside it: how much is read as leaning on another degree, and how much of that goes there.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections import Counter, defaultdict
from itertools import groupby

from engine.harmony import Category, ChordReading, Step, read_progression
from engine.key import Key
from engine.pitch import Note
from tests.evaluate.harmony_songs import SongChord, songs

_DEGREES = ("I", "II", "III", "IV", "V", "VI", "VII")
_MAJOR = (0, 2, 4, 5, 7, 9, 11)
_MINOR = (0, 2, 3, 5, 7, 8, 10)
_EXPERT = re.compile(r"([-#]*)([iv]+|[IV]+)[o+]?(?:[mM]?7|[mM])?([b-g]?)")
_OURS = re.compile(r"(sub)?(CT|N|It|Ger|Fr|Cad)?([#b]*)(vii|[iv]+|[IV]+)?([°ø+]?)(\d*)(\(.*\))?")
_INVERSIONS = {"6": "b", "64": "c", "65": "b", "43": "c", "42": "d"}
Told = tuple[int, bool, str]  # semitones above the tonic, minor third, letter of the bass


def expert(numeral: str) -> Told | None:
    """What the expert's numeral says; None where it names no chord on a degree."""
    match = _EXPERT.fullmatch(numeral)
    if match is None:
        return None
    root = _MAJOR[_DEGREES.index(match[2].upper())] + match[1].count("#") - match[1].count("-")
    return root % 12, match[2].islower(), match[3]


def ours(reading: ChordReading) -> Told:
    """What the reading's numeral says, in the expert's terms: read from its text alone."""
    text, above = re.sub(r"/[A-G][#b]*$", "", reading.roman), 0
    parts = re.split(r"/(?=[#b]*[ivIV])", text)
    for target in reversed(parts[1:]):
        above += _degree(target, reading.key.is_minor)
    match = _OURS.fullmatch(parts[0])
    assert match is not None, reading.roman
    inversion = _INVERSIONS.get(match[6], "")
    if match[2] in ("It", "Ger", "Fr"):
        root = next(n.pc for n in [reading.spelled.root]) - reading.key.tonic.pc
        bass = reading.spelled.bass
        letter = "" if bass is None else "bcd"["357".index(str(_member(reading)))]
        return root % 12, False, letter
    if match[2] == "CT":
        return above % 12, True, _bass_letter(reading)
    if match[2] == "N":
        return 1, False, inversion
    if match[2] == "Cad":
        return 0, reading.spelled.alter(3) == -1, "c"
    if match[1]:
        return (above + 1) % 12, False, inversion
    if len(parts) > 1:
        degree = _DEGREES.index(match[4].upper())
        root = above + (11 if match[4] == "vii" else _MAJOR[degree])
        return root % 12, match[4].islower(), inversion
    return _degree(parts[0], reading.key.is_minor) % 12, match[4].islower(), inversion


def _member(reading: ChordReading) -> int:
    bass = reading.spelled.bass_note.pc
    return next(m.degree for m, note in reading.spelled.member_notes if note.pc == bass)


def _bass_letter(reading: ChordReading) -> str:
    return "abcd"[(reading.notes[0].pc - reading.spelled.root.pc) % 12 // 3].replace("a", "")


def _degree(text: str, minor: bool) -> int:
    match = re.match(r"([#b]*)([iv]+|[IV]+)([°ø]?)", text)
    assert match is not None, text
    leading = match[2] == "vii" and match[3] and not match[1]
    scale = _MAJOR if leading or not minor else _MINOR
    return scale[_DEGREES.index(match[2].upper())] + match[1].count("#") - match[1].count("b")


def compared(wanted: Told, found: Told, chord: SongChord) -> bool:
    """Whether both say the same; the letters e, f and g (a foreign bass) are not compared."""
    third = chord.chord is not None and chord.chord.alter(3) is not None
    letter = wanted[2] if wanted[2] in ("b", "c", "d") else ""
    return (
        wanted[0] == found[0]
        and (not third or wanted[1] == found[1])
        and (letter == found[2] or wanted[2] in ("e", "f", "g"))
    )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--show", type=int, default=40, help="how many confused pairs to print")
    options = parser.parse_args()
    right = total = unread = leaning = goes = 0
    confused: Counter[tuple[str, str, str]] = Counter()
    categories: Counter[str] = Counter()
    astray: Counter[tuple[str, str]] = Counter()
    seen: dict[tuple[str, str, str], str] = defaultdict(str)
    given = songs()
    if not given:
        print("the annotated songs are not beside this checkout", file=sys.stderr)
        return 2
    for song in given:
        sounding = [chord for chord in song.chords if chord.chord is not None]
        steps = [Step(_in_key(chord), chord.key) for chord in sounding]
        readings = read_progression(steps)
        for chord, reading in zip(sounding, readings, strict=True):
            wanted = expert(chord.numeral)
            if wanted is None:
                unread += 1
                continue
            good = compared(wanted, ours(reading), chord)
            total += 1
            right += good
            if not good:
                pair = ("m" if chord.key.is_minor else "M", chord.numeral, reading.roman)
                confused[pair] += 1
                after = reading.after.symbol if reading.after else "end"
                seen[pair] = f"{song.name} bar {chord.bar}: {reading.chord} > {after}"
        for _, same in groupby(readings, key=lambda reading: (reading.chord, reading.key)):
            reading = next(same)
            categories[str(reading.category)] += 1
            if reading.category in (Category.APPLIED, Category.SUBSTITUTE):
                leaning += 1
                goes += reading.resolves is True
                if not reading.resolves and reading.after is not None:
                    after = reading.after.root.pc - reading.key.tonic.pc
                    astray[reading.roman, _DEGREES_FROM_C[after % 12]] += 1
    print(f"{right} of {total} numerals say the same: {right / total:.1%}; {unread} not compared")
    print(f"{leaning} lean on another degree, {goes / leaning:.1%} go there")
    print(", ".join(f"{name} {count}" for name, count in categories.most_common()))
    print("lean, but go elsewhere:")
    for (roman, after), count in astray.most_common(options.show):
        print(f"{count:5} {roman:14} then {after}")
    print("say other things:")
    for pair, count in confused.most_common(options.show):
        print(f"{count:5} {pair[0]} {pair[1]:8} read {pair[2]:16} {seen[pair]}")
    return 0


_DEGREES_FROM_C = ("I", "bII", "II", "bIII", "III", "IV", "#IV", "V", "bVI", "VI", "bVII", "VII")


def _in_key(chord: SongChord):  # type: ignore[no-untyped-def]
    return chord.chord


if __name__ == "__main__":
    sys.exit(main())
