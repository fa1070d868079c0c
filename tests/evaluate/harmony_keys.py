"""Measures the key finder on annotated songs, and makes its table.

    python -m tests.evaluate.harmony_keys            cross-validated accuracy on one-key songs
    python -m tests.evaluate.harmony_keys --write    also writes shared/tables/key_statistics.toml
    python -m tests.evaluate.harmony_keys --regions  the path of keys, with the table as it is

Each song is judged by statistics and weights that it had no part in (five folds, three
shuffles). Weights are fitted on features whose statistics come from other songs again, so that
they don't lean on what was learnt by heart. They are fitted to whole songs and, with half the
weight, to excerpts of them, as what is typed is often no longer; these are judged too.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter, defaultdict
from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from engine.harmony.keyfeatures import Event, events_of, features
from engine.harmony.keystats import MODES, KeyStatistics, code_text, statistics_from
from engine.key import Key
from tests.evaluate import harmony_local_keys
from tests.evaluate.harmony_numerals import kept_pieces
from tests.evaluate.harmony_songs import AnnotatedSong, SongChord, songs

_TABLE = Path(__file__).parents[2] / "shared" / "tables" / "key_statistics.toml"
_PER_SONG = 60.0  # whole notes that a song counts as, however long it is
_SHUFFLES = 3
_EXCERPT = 0.5  # what one counts in the fit, beside a song
_EVERY = 8  # bars from which an excerpt may begin
Counts = tuple[list[list[float]], list[list[list[float]]], list[float]]


@dataclass(frozen=True)
class Example:
    """Music in one key; `excerpts` by what they are."""

    name: str
    events: list[Event]
    key: Key
    excerpts: dict[str, list[Event]]

    @property
    def answer(self) -> int:
        return 12 * MODES.index(self.key.mode) + self.key.tonic.pc


def events(chords: Sequence[SongChord]) -> list[Event]:
    return events_of(
        [(c.chord, c.duration, c.bar, c.onset == 0) for c in chords if c.chord is not None]
    )


def stretches(song: AnnotatedSong) -> list[list[SongChord]]:
    """The parts of a song that stay in one key."""
    found: list[list[SongChord]] = []
    for chord in song.chords:
        if not found or found[-1][-1].key != chord.key:
            found.append([])
        found[-1].append(chord)
    return found


def excerpts(song: AnnotatedSong) -> dict[str, list[Event]]:
    """The first 4 and 8 bars, and 8 and 16 bars from somewhere."""
    chance = random.Random(song.name)
    last = song.chords[-1].bar
    found = {}
    for what, length, room in (
        ("first 4", 4, 0), ("first 8", 8, 0), ("any 8", 8, last - 8), ("any 16", 16, last - 16),
    ):  # fmt: skip
        first = 1 + _EVERY * chance.randrange(max(0, room) // _EVERY + 1)
        part = events([c for c in song.chords if first <= c.bar < first + length])
        if part:
            found[what] = part
    return found


def examples(given: Sequence[AnnotatedSong]) -> tuple[list[Example], list[Example]]:
    """Songs in one key, and the stretches of the others."""
    one, parts = [], []
    for song in given:
        for stretch in stretches(song):
            found = events(stretch)
            if len(song.keys) == 1 and found:
                one.append(Example(song.name, found, stretch[0].key, excerpts(song)))
            elif len(found) >= 8:
                parts.append(Example(song.name, found, stretch[0].key, {}))
    return one, parts


@cache
def analysed() -> tuple[list[list[float]], list[list[list[float]]]]:
    """What the analyses count, which music21 takes a while to read."""
    return harmony_local_keys.counts(kept_pieces([], None))


def counted(given: Sequence[Example]) -> Counts:
    """Chords and successions of the songs and of the analyses."""
    durations, pairs = deepcopy(analysed())
    numbers = [0.0 for _ in MODES]
    for one in given:
        found, key = one.events, one.key
        mode = MODES.index(key.mode)
        numbers[mode] += 1
        total = sum(event.duration for event in found)
        codes = [12 * event.quality + (event.root - key.tonic.pc) % 12 for event in found]
        for event, code in zip(found, codes, strict=True):
            durations[mode][code] += _PER_SONG * event.duration / total
        for before, after in pairwise(codes):
            pairs[mode][before][after] += 1
    return durations, pairs, numbers


def matrix(found: list[Event], known: KeyStatistics) -> Any:
    rows = features(found, known)
    return np.array([list(rows[tonic, mode].values()) for mode in (0, 1) for tonic in range(12)])


def fitted(given: Sequence[Example], penalty: float = 0.01) -> Any:
    """Weights of a softmax over the 24 keys, statistics of each quarter taken from the rest."""
    parts, answers, counts = [], [], []
    for quarter in range(4):
        known = statistics_from(*counted([one for n, one in enumerate(given) if n % 4 != quarter]))
        for one in given[quarter::4]:
            for found in (one.events, *one.excerpts.values()):
                parts.append(matrix(found, known))
                answers.append(one.answer)
                counts.append(1.0 if found is one.events else _EXCERPT)
    table = np.array(parts)
    spread = table.std((0, 1)) + 1e-6
    table = table / spread
    share = np.array(counts) / sum(counts)
    wanted = share @ table[np.arange(len(answers)), answers]
    weights = np.zeros(table.shape[2])
    mean, square = np.zeros_like(weights), np.zeros_like(weights)
    for step in range(1, 501):
        scores = table @ weights
        scores -= scores.max(1, keepdims=True)
        shares = np.exp(scores)
        shares /= shares.sum(1, keepdims=True)
        slope = np.einsum("nk,nkf->f", shares * share[:, None], table) - wanted
        slope += penalty * weights
        mean = 0.9 * mean + 0.1 * slope
        square = 0.999 * square + 0.001 * slope * slope
        rate = 0.1 if step < 300 else 0.02
        weights -= rate * (mean / (1 - 0.9**step)) / (np.sqrt(square / (1 - 0.999**step)) + 1e-8)
    return weights / spread


@dataclass
class Tally:
    """How often the likeliest key is the right one, and how much was believed of it."""

    tried: int = 0
    right: int = 0
    believed: float = 0.0

    def add(self, right: bool, believed: float) -> None:
        self.tried += 1
        self.right += right
        self.believed += believed

    def __str__(self) -> str:
        return f"{self.right / self.tried:.1%} exact, {self.believed / self.tried:.1%} believed"


def validated(
    one: list[Example], parts: list[Example]
) -> tuple[dict[str, Tally], dict[int, Tally], Counter[str]]:
    """Tallies by what was judged, and by tenths of belief; the kinds of wrong keys of songs."""
    tallies, beliefs = defaultdict[str, Tally](Tally), defaultdict[int, Tally](Tally)
    wrong = Counter[str]()
    for shuffle in range(_SHUFFLES):
        order = list(range(len(one)))
        random.Random(shuffle).shuffle(order)
        for fold in range(5):
            held = [one[n] for n in order[fold::5]]
            rest = [one[n] for at, n in enumerate(order) if at % 5 != fold] + parts
            random.Random(fold).shuffle(rest)
            weights = fitted(rest)
            known = statistics_from(*counted(rest))
            for song in held:
                for what, found in {"whole": song.events, **song.excerpts}.items():
                    scores = matrix(found, known) @ weights
                    best = int(scores.argmax())
                    believed = float(1 / np.exp(scores - scores[best]).sum())
                    tallies[what].add(best == song.answer, believed)
                    beliefs[min(9, int(10 * believed))].add(best == song.answer, believed)
                    if what == "whole" and best != song.answer:
                        up = (best % 12 - song.key.tonic.pc) % 12
                        wrong[f"{song.key.mode} as {MODES[best // 12]} {up} semitones up"] += 1
    return tallies, beliefs, wrong


def written(durations: Any, pairs: Any, numbers: Any, names: list[str], weights: Any) -> str:
    lines = [
        "# Chords in keys, counted in the McGill Billboard annotations (Burgoyne, Wild & Fujinaga,",
        "# ISMIR 2011) in the Humdrum form of the Coordinated Corpus of Popular Musics (2023), and",
        "# in the analyses of Bach chorales and Mozart sonata movements that music21 carries",
        "# (D. Tymoczko and others), each chord of which counts three times.",
        "# A chord is its semitones above the tonic and its class: M major, m minor, 7 dominant",
        "# seventh, o diminished, + augmented, S suspended with a seventh, x without a third.",
        "# `durations`: share of time (each song counts 60); `pairs`: successions, by first chord.",
        "# `weights` of the key finder's features, fitted to the same songs and excerpts of them.",
        "# Made by python -m tests.evaluate.harmony_keys --write.",
    ]
    for mode, name in enumerate(MODES):
        lines += ["", f"[{name}]", f'songs = "{numbers[mode]:g}"', 'durations = """']
        row = [f"{code_text(c)} {n:.3g}" for c, n in enumerate(durations[mode]) if n > 0.01]
        lines += [" ".join(row), '"""', 'pairs = """']
        for code, counts in enumerate(pairs[mode]):
            row = [f"{code_text(c)} {n:g}" for c, n in enumerate(counts) if n]
            if row:
                lines.append(f"{code_text(code)}: {' '.join(row)}")
        lines.append('"""')
    lines += ["", "[weights]"]
    lines += [f'{name} = "{value:.4g}"' for name, value in zip(names, weights, strict=True)]
    return "\n".join(lines) + "\n"


def regions(given: list[AnnotatedSong]) -> None:
    """How the path of keys follows the annotated one, by time; the first key is the written one."""
    from types import SimpleNamespace

    from engine.harmony.regions import Sounding, key_path

    whole = {"one key": [Fraction(0), Fraction(0)], "modulating": [Fraction(0), Fraction(0)]}
    left = 0
    changed = 0
    for song in given:
        chords = [chord for chord in song.chords if chord.chord is not None]
        if not chords:
            continue
        home = song.chords[0].key
        bars: dict[int, Any] = {
            c.bar: SimpleNamespace(number=c.bar, key=home, section=0) for c in chords
        }
        places: Any = [
            Sounding(bars[c.bar], 0, c.chord, c.onset, c.duration)
            for c in chords
            if c.chord is not None
        ]
        path = key_path(places)
        kind = "one key" if len(song.keys) == 1 else "modulating"
        for chord, key in zip(chords, path, strict=True):
            same = (key.tonic.pc, key.mode) == (chord.key.tonic.pc, chord.key.mode)
            whole[kind][0] += chord.duration * same
            whole[kind][1] += chord.duration
        if kind == "one key":
            left += any(key != home for key in path)
            changed += 1
    for kind, (right, total) in whole.items():
        print(f"{kind}: {float(right / total):.1%} of the time in the annotated key")
    print(f"{left} of {changed} one-key songs leave their key")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--regions", action="store_true")
    options = parser.parse_args()
    given = songs()
    if not given:
        print("the annotated songs are not beside this checkout", file=sys.stderr)
        return 2
    if options.regions:
        regions(given)
        return 0
    one, parts = examples(given)
    if options.write:
        everything = one + parts
        random.Random(0).shuffle(everything)
        weights = fitted(everything)
        numbers = counted(everything)
        names = list(features(one[0].events, statistics_from(*numbers))[0, 0])
        _TABLE.write_text(written(*numbers, names, weights), encoding="utf-8")
    tallies, beliefs, wrong = validated(one, parts)
    print(f"of {len(one)} one-key songs, held out:")
    for what, tally in tallies.items():
        print(f"{what}: {tally}")
    for text, count in wrong.most_common(12):
        print(f"{count / _SHUFFLES:5.1f} {text}")
    for tenth, tally in sorted(beliefs.items()):
        print(f"believed {tenth * 10}-{tenth * 10 + 10} %: {tally} of {tally.tried}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
