"""Compares the path of keys with the local keys of analysts' Roman-text analyses.

    python -m tests.evaluate.harmony_local_keys [--keep FILE.json] [FILE.rntxt …]

Given are a piece's chords and its first key; asked is the key of each chord. Without files: the
analyses that harmony_numerals reads. The chorales and the Mozart movements are counted in the table
of key statistics, so only the madrigals and files of one's own are held out. Analysts differ: where
one writes a key of its own for two chords, another writes applied chords.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterable
from itertools import pairwise

from engine.chord import parse_chord
from engine.harmony.keypath import path_of_keys, state_of
from engine.harmony.keystats import MODES, SIZE, heard
from tests.evaluate.harmony_numerals import Piece, group_of, kept_pieces

COUNTED = ("chorale", "mozartK")
_TIMES = 3.0  # a chord of an analysis counts as so many: they are few, and chosen by an analyst


def counts(pieces: Iterable[Piece]) -> tuple[list[list[float]], list[list[list[float]]]]:
    """Chords and successions within a key, by mode, as `engine.harmony.keystats` counts them."""
    alone = [[0.0] * SIZE for _ in MODES]
    pairs = [[[0.0] * SIZE for _ in range(SIZE)] for _ in MODES]
    for piece in pieces:
        if group_of(piece.name) not in COUNTED:
            continue
        found = []
        for item in piece.chords:
            quality, root = heard(parse_chord(item.symbol))
            code = 12 * quality + (root - item.key.tonic.pc) % 12
            alone[int(item.key.is_minor)][code] += _TIMES
            found.append((item.key, code))
        for (old, before), (key, after) in pairwise(found):
            if old == key:
                pairs[int(key.is_minor)][before][after] += _TIMES
    return alone, pairs


def report(pieces: Iterable[Piece]) -> None:
    right: Counter[tuple[str, str]] = Counter()
    total: Counter[tuple[str, str]] = Counter()
    for piece in pieces:
        home = piece.chords[0].key
        chords = [parse_chord(item.symbol) for item in piece.chords]
        path, _ = path_of_keys(chords, [home] * len(chords))
        for item, key in zip(piece.chords, path, strict=True):
            for where in ("all", "in the first key" if item.key == home else "in another"):
                total[group_of(piece.name), where] += 1
                right[group_of(piece.name), where] += key == state_of(item.key)
    for (group, where), count in sorted(total.items()):
        share = right[group, where] / count
        print(f"{group:12} {where:17} {right[group, where]:5} of {count:5}  {share:.1%}")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="*")
    parser.add_argument("--keep", help="a JSON file to keep the analyses in, for speed")
    options = parser.parse_args()
    report(kept_pieces(options.files, options.keep))
    return 0


if __name__ == "__main__":
    sys.exit(main())
