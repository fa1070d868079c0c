"""Makes shared/tables/style.json from the training songs, or measures the model on them.

Run `python -m tests.evaluate.reharm_style` to measure by five-fold cross-validation over songs
(counts, weights: never from the songs measured) and print the misses' summary, and
`python -m tests.evaluate.reharm_style --write` to make the table anew. The songs are read from
`../shared/data/pop_progressions_train.jsonl` beside the checkout.

A question is a whole bar with one chord, four bars of one key around it, and neighbours that
differ from it. It is answered if the song's root and family are among the first five.
"""

from __future__ import annotations

import argparse
import json
import random
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, pairwise
from pathlib import Path

import numpy as np
import numpy.typing as npt

from engine.reharm.choose import covering
from engine.reharm.counts import (
    FIRST,
    LAST,
    PHRASE,
    PLACES,
    Counts,
    Tables,
    counts_of,
    tables_of,
)
from engine.reharm.families import CLASSES, COUNT, FAMILIES
from engine.reharm.style import REACH, Place, chances, changes, features

Array = npt.NDArray[np.float64]

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT.parent / "shared" / "data" / "pop_progressions_train.jsonl"
TABLE = ROOT / "shared" / "tables" / "style.json"
SOURCE = (
    "McGill Billboard annotations (Burgoyne, Wild & Fujinaga, ISMIR 2011), in the Humdrum form "
    "of the Coordinated Corpus of Popular Musics (2023); 375 songs"
)
FOLDS = 5
LAGS = (2, 4)
_NAMES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True)
class Bar:
    tonic: int
    minor: bool
    classes: tuple[int, ...]  # absolute: pitch class of the root × families + family
    whole: bool


@dataclass(frozen=True)
class Question:
    place: Place
    answer: int
    differs: bool
    weight: float
    whole: bool = True  # four bars known on each side


def _pc(name: str) -> int:
    return (_NAMES[name[0].upper()] + name.count("#") - name[1:].count("b") - name.count("-")) % 12


def harte_family(quality: str) -> int:
    """The family of a Harte quality (`min7`, `sus4(b7)`, `maj(9)`)."""
    head = quality.split("(")[0]
    if head in ("5", "1"):
        return FAMILIES.index("power") if head == "5" else FAMILIES.index("major")
    if quality.startswith("(") and "b3" in quality:
        return FAMILIES.index("minor")
    table = (("min", "minor"), ("hdim", "diminished"), ("dim", "diminished"), ("aug", "augmented"),
             ("sus", "suspended"), ("7", "dominant"), ("9", "dominant"), ("11", "dominant"),
             ("13", "dominant"))  # fmt: skip
    for start, name in table:
        if head.startswith(start):
            return FAMILIES.index(name)
    return FAMILIES.index("dominant" if "b7" in quality else "major")


def read_songs(path: Path = DATA) -> list[list[Bar]]:
    """The songs, bar by bar, from the first that sounds to the last.

    A bar where no chord sounds has no classes.
    """
    songs = []
    for line in path.read_text(encoding="utf-8").splitlines():
        bars = []
        for key, chords in json.loads(line)["bars"]:
            classes: list[int] = []
            for _, _, label in chords:
                if ":" not in label:
                    classes = []
                    break
                root, quality = label.split(":")
                classes.append(_pc(root) * COUNT + harte_family(quality.split("/")[0]))
            bars.append(Bar(_pc(key), key[0].islower(), tuple(classes), len(classes) == 1))
        sounding = [at for at, bar in enumerate(bars) if bar.classes]
        songs.append(bars[sounding[0] : sounding[-1] + 1] if sounding else [])
    return songs


def _relative(bar: Bar) -> tuple[int, ...]:
    return tuple((cls - bar.tonic * COUNT) % CLASSES for cls in bar.classes)


def questions(song: Sequence[Bar], seed: int) -> Iterator[Question]:
    """Every bar that differs from its neighbours, and a quarter of the others.

    The place in the phrase is counted from the song's start. Of every six one is asked again
    without what stands before, after or both.
    """
    chance = random.Random(seed)
    for at, here in enumerate(song):
        around = song[max(0, at - REACH) : at + REACH + 1]
        if not here.whole or any(not bar.classes for bar in around):
            continue
        if len({(bar.tonic, bar.minor) for bar in around}) > 1:
            continue
        bars = [_relative(bar) for bar in around]
        middle = min(at, REACH)
        before, answer, after = bars[:middle], bars[middle][0], bars[middle + 1 :]
        differs = not (before and answer == before[-1][-1]) and not (
            after and answer == after[0][0]
        )
        if differs or chance.random() < 0.25:
            past, future = tuple(reversed(before)), tuple(after)
            whole = len(bars) == 2 * REACH + 1
            worth = 1.0 if differs else 0.4
            end = end_of(at, len(song))
            place = Place(here.minor, past, future, at % PHRASE, end)
            yield Question(place, answer, differs, worth, whole)
            if chance.random() < 1 / 6:
                sides = chance.choice([(past, ()), ((), future), ((), ())])
                place = Place(here.minor, *sides, at % PHRASE, end)
                yield Question(place, answer, differs, worth, whole=False)


def end_of(at: int, length: int) -> int | None:
    """FIRST or LAST for a song's first and last bar."""
    return FIRST if at == 0 else LAST if at == length - 1 else None


@dataclass
class Tally:
    """Counts of one song or several."""

    single: Array
    pairs: Array
    threes: Counter[tuple[int, int, int]]
    apart: dict[int, Array]
    places: Array


def tally(songs: Sequence[Sequence[Bar]]) -> Tally:
    found = Tally(
        np.zeros((2, CLASSES)),
        np.zeros((2, CLASSES, CLASSES)),
        Counter(),
        {lag: np.zeros((CLASSES, CLASSES)) for lag in LAGS},
        np.zeros((2, PLACES, CLASSES)),
    )
    for song in songs:
        for at, bar in enumerate(song):
            if bar.classes:
                end = end_of(at, len(song))
                for place in (at % PHRASE, *([] if end is None else [end])):
                    found.places[int(bar.minor), place, _relative(bar)[0]] += 1
        for run in _runs(song):
            mode = int(run[0].minor)
            bars = [_relative(bar) for bar in run]
            flat = changes([cls for bar in bars for cls in bar])
            for cls in flat:
                found.single[mode, cls] += 1
            for first, last in pairwise(flat):
                found.pairs[mode, first, last] += 1
            found.threes.update(zip(flat, flat[1:], flat[2:], strict=False))
            for lag in LAGS:
                for one, other in zip(bars, bars[lag:], strict=False):
                    found.apart[lag][one[0], other[0]] += 1
    return found


def _runs(song: Sequence[Bar]) -> Iterator[list[Bar]]:
    """Stretches of one key in which chords sound throughout."""
    run: list[Bar] = []
    for bar in song:
        if run and (not bar.classes or (bar.tonic, bar.minor) != (run[0].tonic, run[0].minor)):
            if len(run) > 1:
                yield run
            run = []
        if bar.classes:
            run.append(bar)
    if len(run) > 1:
        yield run


def counts(found: Tally) -> Counts:
    """As the table keeps them: threes that stand twice or more."""
    threes = {three: count for three, count in found.threes.items() if count > 1}
    return counts_of(found.single, found.pairs, threes, found.apart, found.places)


def matrix(tables: Tables, asked: Sequence[Question]) -> Array:
    """(questions, classes, features)"""
    rows = [np.stack(list(features(tables, q.place).values()), 1) for q in asked]
    return np.stack(rows).astype(np.float32)


def names(tables: Tables) -> list[str]:
    return list(features(tables, Place(minor=False)))


def fit(x: Array, asked: Sequence[Question], start: Array | None = None) -> Array:
    """Weights of the log-linear model by accelerated full-batch gradient descent (Adam)."""
    answers = np.array([q.answer for q in asked])
    share = np.array([q.weight for q in asked], dtype=np.float32)
    share /= share.sum()
    rows = np.arange(len(asked))
    w = np.zeros(x.shape[2]) if start is None else start.copy()
    mean, spread = np.zeros_like(w), np.zeros_like(w)
    steps = 150 if start is None else 60
    for step in range(1, steps + 1):
        score = x @ w.astype(np.float32)
        score -= score.max(1, keepdims=True)
        p = np.exp(score)
        p /= p.sum(1, keepdims=True)
        p[rows, answers] -= 1
        p *= share[:, None]
        slope = np.tensordot(p, x, ([0, 1], [0, 1])) + 1e-4 * w
        mean = 0.9 * mean + 0.1 * slope
        spread = 0.98 * spread + 0.02 * slope * slope
        rate = 0.08 * (1 - step / steps) + 0.002
        w -= rate * (mean / (1 - 0.9**step)) / (np.sqrt(spread / (1 - 0.98**step)) + 1e-6)
    return w


def folds(songs: Sequence[Sequence[Bar]]) -> list[list[int]]:
    order = list(range(len(songs)))
    random.Random(0).shuffle(order)
    return [order[n::FOLDS] for n in range(FOLDS)]


def _cross(
    songs: Sequence[Sequence[Bar]], parts: Sequence[Sequence[int]]
) -> tuple[Array, list[Question]]:
    """Features of each part's questions, from counts of the other parts."""
    xs, asked = [], []
    for part in parts:
        rest = [songs[n] for other in parts if other is not part for n in other]
        tables = tables_of(counts(tally(rest)))
        mine = [q for n in part for q in questions(songs[n], n)]
        xs.append(matrix(tables, mine))
        asked += mine
    return np.concatenate(xs), asked


def measure(songs: Sequence[Sequence[Bar]]) -> None:
    parts = folds(songs)
    asked_all: list[Question] = []
    guesses: list[list[int]] = []
    w = None
    for part in parts:
        train = [n for other in parts if other is not part for n in other]
        inner = [train[n::4] for n in range(4)]
        x, asked = _cross(songs, inner)
        w = fit(x, asked, w)
        tables = tables_of(counts(tally([songs[n] for n in train])))
        weights = dict(zip(names(tables), w.tolist(), strict=True))
        for n in part:
            for q in questions(songs[n], n):
                asked_all.append(q)
                best = covering(chances(tables, weights, q.place))
                guesses.append(list(islice(best, 5)))
        report(asked_all, guesses)
    misses(asked_all, guesses)


def _broad(cls: int, *, dominant: bool) -> tuple[int, int]:
    kind = FAMILIES[cls % COUNT]
    if kind == "power" or (kind == "dominant" and not dominant):
        kind = "major"
    return cls // COUNT, FAMILIES.index(kind)


def _hit(q: Question, guess: Sequence[int], *, dominant: bool) -> bool:
    wanted = _broad(q.answer, dominant=dominant)
    return wanted in [_broad(cls, dominant=dominant) for cls in guess]


def _apart(q: Question) -> bool:
    """Whether the neighbours differ from each other."""
    return bool(q.place.before and q.place.after) and q.place.before[0][-1] != q.place.after[0][0]


KINDS: tuple[tuple[str, Callable[[Question], bool]], ...] = (
    ("differs from its neighbours", lambda q: q.whole and q.differs),
    ("and they from each other", lambda q: q.whole and q.differs and _apart(q)),
    ("neighbours differ from each other", lambda q: q.whole and _apart(q)),
    ("a song's first bar", lambda q: q.place.end == FIRST),
    ("a song's last bar", lambda q: q.place.end == LAST),
    ("nothing known before", lambda q: not q.place.before and q.place.end is None),
    ("nothing known after", lambda q: not q.place.after and q.place.end is None),
)


def report(asked: Sequence[Question], guesses: Sequence[Sequence[int]]) -> None:
    for label, chosen in KINDS:
        here = [(q, g, 1.0 if q.differs else 4.0)
                for q, g in zip(asked, guesses, strict=True) if chosen(q)]  # fmt: skip
        total = sum(weight for *_, weight in here) or 1
        found = [
            sum(w for q, g, w in here if _hit(q, g, dominant=dominant)) / total
            for dominant in (True, False)
        ]
        print(f"{label}: {len(here)} bars, {found[0]:.3f}, sevenths as triads {found[1]:.3f}")


def misses(asked: Sequence[Question], guesses: Sequence[Sequence[int]]) -> None:
    missed = Counter(
        f"{q.answer // COUNT}:{FAMILIES[q.answer % COUNT]}"
        for q, g in zip(asked, guesses, strict=True)
        if q.whole and q.differs and not _hit(q, g, dominant=True)
    )
    print("missed most (semitones above the tonic, family):")
    for name, count in missed.most_common(15):
        print(f"  {name}  {count}")


def table_of(songs: Sequence[Sequence[Bar]]) -> str:
    """The text of style.json: counts of songs, and weights from parts of them left out in turn."""
    x, asked = _cross(songs, folds(songs))
    w = fit(x, asked)
    found = tally(songs)
    kept = counts(found)
    tables = tables_of(kept)
    weights = dict(zip(names(tables), w.round(3).tolist(), strict=True))
    threes: dict[str, list[str]] = {}
    for (first, middle), row in sorted(kept.following.items()):
        threes[f"{first} {middle}"] = [f"{cls}:{n}" for cls, n in sorted(row.items())]
    table = {
        "source": SOURCE,
        "made": "tests/evaluate/reharm_style.py --write",
        "classes": "semitones of the root above the tonic × 7 + family: " + " ".join(FAMILIES),
        "weights": weights,
        "single": found.single.astype(int).tolist(),
        "pairs": {
            mode: _rows(found.pairs[n]) for n, mode in enumerate(("major", "minor"))
        },
        "threes": {key: " ".join(row) for key, row in threes.items()},
        "apart": {str(lag): _rows(values) for lag, values in found.apart.items()},
        "places": {
            mode: _rows(found.places[n]) for n, mode in enumerate(("major", "minor"))
        },
    }  # fmt: skip
    return json.dumps(table, ensure_ascii=False, indent=0, separators=(",", ":")) + "\n"


def write(songs: Sequence[Sequence[Bar]]) -> None:
    text = table_of(songs)
    TABLE.write_text(text, encoding="utf-8")
    print(f"wrote {TABLE.name}: {len(text)} characters")


def _rows(values: Array) -> dict[str, str]:
    return {
        str(first): " ".join(f"{cls}:{int(row[cls])}" for cls in np.nonzero(row)[0])
        for first, row in enumerate(values)
        if row.any()
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", action="store_true", help="make the table anew")
    songs = read_songs()
    (write if parser.parse_args().write else measure)(songs)


if __name__ == "__main__":
    main()
