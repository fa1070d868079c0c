"""Tunes the weights of readings on one half of the analysed pieces and tells what the other gets.

    python -m tests.evaluate.harmony_tuning [--half first|second] [--rounds N] [--blank] [--write]

A piece's half is a hash of its name. Each weight in turn is tried a little higher and lower, and
kept where the half it is tuned on gains: an applied chord counts three times, and of equal gains
the weight nearer to the table's is kept. `--write` puts the weights found into
shared/tables/reading.toml.

The table as it stands was set with both halves in view, so neither is held out from it. `--blank`
tells what is: it forgets the table's sizes and keeps their directions alone (1 for what costs, -0.5
for what is gained), so that all that the weights know of size is learnt from the one half, and the
other half has never been seen. Both ways round it is a twofold cross-validation.
"""

from __future__ import annotations

import argparse
import re
import sys
import tomllib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from unittest.mock import patch

import shared
from engine.chord import parse_chord
from engine.harmony.context import Step, best_path
from engine.harmony.following import joins
from engine.harmony.ways import ways_of
from engine.harmony.weights import weights
from tests.evaluate.harmony_numerals import HALVES, Piece, half_of, kept_pieces, same

_TABLE = Path(__file__).parents[2] / "shared" / "tables" / "reading.toml"
_STEPS = (-0.4, -0.2, -0.1, 0.1, 0.2, 0.4)
_FAR = (-1.6, -0.8, 0.8, 1.6)  # tried too where the sizes are unknown
_APPLIED = 3  # an applied chord counts as so many others
_LINE = re.compile(r"^(\w+) = (-?[\d.]+)", re.MULTILINE)


@contextmanager
def table(text: str) -> Iterator[None]:
    """The reader with other weights."""
    caches = (weights, ways_of, joins)
    with patch.object(shared, "text", lambda *_: text):
        for cache in caches:
            cache.cache_clear()
        yield
    for cache in caches:
        cache.cache_clear()


Prepared = list[tuple[list[Step], list[str]]]


def prepared(pieces: Sequence[Piece]) -> Prepared:
    return [
        (
            [Step(parse_chord(chord.symbol), chord.key) for chord in piece.chords],
            [chord.numeral for chord in piece.chords],
        )
        for piece in pieces
    ]


def score(pieces: Prepared) -> tuple[int, int, int]:
    """Points, numerals right, applied chords right."""
    right = applied = 0
    for steps, wanted in pieces:
        path, _ = best_path(steps)
        for candidate, numeral in zip(path, wanted, strict=True):
            good = same(candidate.roman, numeral)
            right += good
            applied += good and "/" in numeral
    return right + (_APPLIED - 1) * applied, right, applied


def with_value(text: str, name: str, value: float) -> str:
    return re.sub(rf"^{name} = -?[\d.]+", f"{name} = {value:.1f}", text, flags=re.MULTILINE)


def blank(text: str) -> str:
    """The table with the directions of its weights, but not their sizes."""

    def direction(match: re.Match[str]) -> str:
        value = float(match[2])
        return f"{match[1]} = {1.0 if value > 0 else -0.5 if value < 0 else 0.0}"

    return _LINE.sub(direction, text)


def tuned(text: str, pieces: Prepared, rounds: int, steps: Sequence[float] = _STEPS) -> str:
    with table(text):
        best = score(pieces)[0]
    for _ in range(rounds):
        gained = False
        for name in [match[1] for match in _LINE.finditer(text)]:
            now = next(float(m[2]) for m in _LINE.finditer(text) if m[1] == name)
            for step in sorted(steps, key=abs):
                tried = with_value(text, name, now + step)
                with table(tried):
                    points = score(pieces)[0]
                if points > best:
                    best, text, gained = points, tried, True
                    print(f"  {name} {now:.1f} → {now + step:.1f}: {points}", flush=True)
                    break
        if not gained:
            break
    return text


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--half", choices=HALVES, default=HALVES[0])
    parser.add_argument("--rounds", type=int, default=2)
    parser.add_argument("--keep", help="a JSON file to keep the experts' numerals in, for speed")
    parser.add_argument("--blank", action="store_true", help="start from directions alone")
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args()
    pieces = kept_pieces([], options.keep)
    halves = {name: prepared([p for p in pieces if half_of(p.name) == name]) for name in HALVES}
    text = _TABLE.read_text(encoding="utf-8")
    start = blank(text) if options.blank else text
    steps = (*_STEPS, *_FAR) if options.blank else _STEPS
    found = tuned(start, halves[options.half], options.rounds, steps)
    tomllib.loads(found)
    tables = [("as it is", text), (f"tuned on the {options.half} half", found)]
    if options.blank:
        tables.insert(1, ("blank", start))
    for label, weighed in tables:
        with table(weighed):
            for name, half in halves.items():
                numerals = [numeral for _, wanted in half for numeral in wanted]
                applied = sum("/" in numeral for numeral in numerals)
                _, right, good = score(half)
                seen = "" if label.startswith("as") or name == options.half else " (held out)"
                print(f"{label}, {name} half{seen}: {right / len(numerals):.1%} of "
                      f"{len(numerals)}, applied {good / applied:.1%} of {applied}")  # fmt: skip
    if options.write:
        _TABLE.write_text(found, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
