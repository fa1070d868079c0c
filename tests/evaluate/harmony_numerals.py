"""Compares the reader's numerals with analysts' Roman-text analyses, given symbols and keys.

    python -m tests.evaluate.harmony_numerals [--keep FILE.json] [FILE.rntxt …]

Without files: the analyses in music21's corpus (Bach chorales by D. Tymoczko and others,
Monteverdi madrigals) and the two Mozart sonata movements of its test files. Each numeral is
turned into notes by music21, the notes into a chord symbol as a lead sheet would write it, and
the symbols with their keys are read. Printed: exactness over all, by half of the pieces, by piece
group, for applied chords, and the pairs most confused. No figure here is held out: the weights were
set with all these pieces in view. What weights get that have not seen a half is told by
`harmony_tuning --blank`.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
import warnings
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zlib import crc32

from engine.chord import Chord, Member, parse_chord
from engine.harmony.context import Step, best_path
from engine.key import Key
from engine.pitch import Note

# Semitones above the root, and what a lead sheet writes.
_SUFFIX = {
    (0, 4, 7): "", (0, 3, 7): "m", (0, 3, 6): "dim", (0, 4, 8): "aug", (0, 4, 7, 10): "7",
    (0, 4, 7, 11): "maj7", (0, 3, 7, 10): "m7", (0, 3, 6, 9): "dim7", (0, 3, 6, 10): "m7b5",
    (0, 3, 7, 11): "m(maj7)", (0, 4, 8, 10): "aug7", (0, 4, 8, 11): "maj7#5", (0, 7): "5",
    (0, 4, 6, 10): "7b5", (0, 4, 10): "7(no5)", (0, 2, 4, 7, 10): "9", (0, 1, 4, 7, 10): "7b9",
    (0, 2, 4, 7, 11): "maj9", (0, 2, 3, 7, 10): "m9", (0, 5, 7): "sus4", (0, 2, 7): "sus2",
    (0, 5, 7, 10): "7sus4", (0, 4): "(no5)", (0, 3): "m(no5)", (0, 3, 10): "m7(no5)",
    (0, 4, 11): "maj7(no5)", (0,): "1", (0, 3, 6, 11): "dim(addmaj7)",
}  # fmt: skip


@dataclass(frozen=True)
class Expert:
    """One numeral of an analyst, with the symbol made of its notes."""

    key: Key
    numeral: str
    symbol: str
    bar: int


@dataclass(frozen=True)
class Piece:
    name: str
    chords: tuple[Expert, ...]


def _note(name: str) -> Note:
    return Note.parse(name.replace("-", "b"))


def normal(figure: str, minor: bool) -> str:
    """An analyst's figure in this project's spelling."""
    text = re.sub(r"\[[^\]]*\]", "", figure)
    text = text.replace("/o", "ø").replace("o", "°").replace("%", "ø")
    head, *targets = re.split(r"/(?=[#b]*[ivIVN])", text)
    head = head.replace("/", "")
    head = re.sub(r"(?<=[ivIVø°+])2$", "42", head)
    head = re.sub(r"^(#*vii°?ø?)53$", r"\1", head)
    head = re.sub(r"^bII(6|64)$", r"N\1", head)
    head = head.replace("6+", "+6") if head.startswith("III6+") else head
    if minor and re.match(r"vi(?!i)", head) and not targets:
        head = "#" + head
    if minor and re.match(r"vii(?![°ø])", head) and not targets:
        head = "#" + head
    head = re.sub(
        r"^(It|Ger|Fr)$", lambda m: {"It": "It6", "Ger": "Ger65", "Fr": "Fr43"}[m[1]], head
    )
    return "/".join([head, *targets])


def same(found: str, wanted: str) -> bool:
    """Whether two numerals say the same; `Cad64` and `I64` are one chord."""
    plain = re.sub(r"\([^)]*\)", "", found)
    if plain == "Cad64":
        return wanted in ("Cad64", "I64", "i64", "V64")
    if wanted == "Cad64":
        return plain in ("I64", "i64")
    if plain.startswith("Cad64/"):
        return wanted.lower() == plain.lower().replace("cad64", "i64")
    return plain == wanted


def symbol_of(root: Note, bass: Note, notes: list[Note]) -> str:
    """The chord symbol of spelled notes with a known root."""
    pcs = tuple(sorted({(note.pc - root.pc) % 12 for note in notes}))
    suffix = _SUFFIX.get(pcs)
    if suffix is None:
        suffix = _by_degrees(root, notes)
    return root.name + suffix + (f"/{bass.name}" if bass != root else "")


def _by_degrees(root: Note, notes: list[Note]) -> str:
    members: dict[int, int] = {1: 0}
    for note in notes:
        interval = root.to(note)
        degree = interval.steps + 1
        degree = {2: 9, 4: 11, 6: 13}.get(degree, degree)
        natural = Member(degree).interval.semitones % 12
        members[degree] = (interval.semitones - natural + 6) % 12 - 6
    return Chord(root, tuple(Member(d, a) for d, a in sorted(members.items()))).suffix


def _expert(numeral: Any, bar: int) -> Expert | None:
    key = numeral.key
    name = key.tonicPitchNameWithCase
    mode = "minor" if name[0].islower() else "major"
    home = Key(_note(name[0].upper() + name[1:]), mode)
    notes = [_note(pitch.name) for pitch in numeral.pitches]
    if not notes or not re.match(r"[#b]*[ivIVNGFC]", numeral.figure):
        return None
    figure = numeral.figure
    if figure.endswith("/"):
        return None
    root, bass = _note(numeral.root().name), _note(numeral.bass().name)
    if "no1" in figure:  # what sounds has no root to write
        return None
    if re.match(r"(Ger|It|Fr)", figure):
        low = home.tonic.fifths - 4
        if re.search(r"/V$", figure):
            low += 1
        root = Note(low)
    return Expert(home, normal(figure, mode == "minor"), symbol_of(root, bass, notes), bar)


def _piece(name: str, score: Any) -> Piece:
    found: list[Expert] = []
    for measure in score.recurse().getElementsByClass("Measure"):
        for numeral in measure.getElementsByClass("RomanNumeral"):
            expert = _expert(numeral, measure.number)
            if expert is not None:
                found.append(expert)
    return Piece(name, tuple(found))


def pieces(files: list[str]) -> Iterator[Piece]:
    """The analyses of the files, or those that music21 carries."""
    warnings.simplefilter("ignore")
    from music21 import converter, corpus
    from music21.romanText import testFiles

    if files:
        for file in files:
            yield _piece(Path(file).stem, converter.parse(file, format="romantext"))
        return
    for path in corpus.getComposer("bach") + corpus.getComposer("monteverdi"):
        if str(path).endswith(".rntxt"):
            yield _piece(Path(path).stem, converter.parse(path, format="romantext"))
    for name in ("mozartK279", "mozartK283_2_opening", "swv23"):
        yield _piece(name, converter.parse(getattr(testFiles, name), format="romantext"))


HALVES = ("first", "second")


def half_of(name: str) -> str:
    """Which half of the pieces one belongs to, by its name alone."""
    return HALVES[crc32(name.encode()) % 2]


def group_of(name: str) -> str:
    return re.sub(r"[\d.]+.*$", "", name.replace("riemenschneider", "chorale"))


def report(found: list[Piece], shown: int) -> None:
    right: Counter[str] = Counter()
    total: Counter[str] = Counter()
    confused: Counter[tuple[str, str, str]] = Counter()
    where: dict[tuple[str, str, str], list[str]] = defaultdict(list)
    for piece in found:
        steps = [Step(parse_chord(item.symbol), item.key) for item in piece.chords]
        path, _ = best_path(steps)
        for n, (item, candidate) in enumerate(zip(piece.chords, path, strict=True)):
            good = same(candidate.roman, item.numeral)
            half = f"{half_of(piece.name)} half"
            classes = ["all", half, group_of(piece.name)]
            if "/" in item.numeral:
                applied = ("", f" in {half}", f" in {group_of(piece.name)}")
                classes += [f"applied{where}" for where in applied]
            if item.key.is_minor:
                classes.append("in minor")
            for name in classes:
                total[name] += 1
                right[name] += good
            if not good:
                following = piece.chords[n + 1] if n + 1 < len(piece.chords) else None
                pair = ("m" if item.key.is_minor else "M", item.numeral, candidate.roman)
                confused[pair] += 1
                then = f"{following.key.short}:{following.numeral}" if following else "end"
                where[pair].append(f"{group_of(piece.name)[:4]} {item.symbol}>{then}")
    for name in sorted(total):
        print(f"{name:28} {right[name]:5} of {total[name]:5}  {right[name] / total[name]:.1%}")
    print("none is held out from the weights as they stand; for that see harmony_tuning --blank")
    for pair, count in confused.most_common(shown):
        print(f"{count:4} {pair[0]} {pair[1]:12} read {pair[2]:14} {'; '.join(where[pair][:4])}")


def kept_pieces(files: list[str], keep: str | None) -> list[Piece]:
    """The pieces, from the JSON file they were kept in where it is there."""
    if keep and Path(keep).exists():
        rows = json.loads(Path(keep).read_text(encoding="utf-8"))
        return [
            Piece(name, tuple(Expert(Key.parse(k), n, s, b) for k, n, s, b in chords))
            for name, chords in rows
        ]
    found = list(pieces(files))
    if keep:
        plain = [
            (p.name, [(c.key.name, c.numeral, c.symbol, c.bar) for c in p.chords]) for p in found
        ]
        Path(keep).write_text(json.dumps(plain), encoding="utf-8")
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*")
    parser.add_argument("--show", type=int, default=60, help="how many confused pairs to print")
    parser.add_argument("--keep", help="a JSON file to keep the experts' numerals in, for speed")
    options = parser.parse_args()
    report(kept_pieces(options.files, options.keep), options.show)
    return 0


if __name__ == "__main__":
    sys.exit(main())
