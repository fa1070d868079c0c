"""How far the analysts' numerals follow from symbols and keys at all, whatever the reader.

    python -m tests.evaluate.harmony_limits [--keep FILE.json] [--show N]

The same analyses as harmony_numerals.py, seen through the chords around each chord (relative to
its key, with their keys). Printed:

- how many of the numerals are among the readings that the reader chooses from;
- what counting gets with a piece left out: the commonest numeral of the widest context around the
  chord that other pieces have, and a vote of the same chord's places in other pieces, those in a
  liker context weighing more;
- what remains wrong when every context is learnt by heart, the piece itself not left out: there the
  analysts write two numerals for the same chord between the same chords;
- the places where they write the same chord before the same chord now as leaning on it, now not.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from engine.chord import Chord, parse_chord
from engine.harmony.context import Step, best_path
from engine.harmony.ways import ways_to_read
from engine.pitch import Note
from tests.evaluate.harmony_numerals import Piece, kept_pieces, same

_WIDEST = ((3, 4), (2, 3), (2, 2), (1, 2), (1, 1), (0, 2), (0, 1), (1, 0), (0, 0))  # before, after
_LIKE = {-3: 1.5, -2: 2.0, -1: 3.0, 1: 6.0, 2: 3.0, 3: 2.0, 4: 1.5}  # a neighbour alike weighs so


Neighbour = tuple[Chord, bool]  # relative to the key of the chord it stands beside; in that key?
Window = tuple[bool, tuple[Neighbour | None, ...]]


@dataclass(frozen=True)
class Place:
    """A chord of an analysis with what stands around it, relative to its key."""

    piece: str
    minor: bool
    numeral: str
    read: str
    reachable: bool
    around: dict[int, Neighbour | None]

    def window(self, before: int, after: int) -> Window:
        return self.minor, tuple(self.around[at] for at in range(-before, after + 1))

    @property
    def applied(self) -> bool:
        return "/" in self.numeral


def relative(chord: Chord, tonic: Note) -> Chord:
    """The chord as it would stand with its tonic on C."""
    bass = None if chord.bass is None else Note(chord.bass.fifths - tonic.fifths)
    return Chord(Note(chord.root.fifths - tonic.fifths), chord.members, bass)


def places(piece: Piece) -> Iterator[Place]:
    steps = [Step(parse_chord(item.symbol), item.key) for item in piece.chords]
    path, _ = best_path(steps)
    for n, (step, item) in enumerate(zip(steps, piece.chords, strict=True)):
        around: dict[int, Neighbour | None] = {}
        for at in range(min(_LIKE), max(_LIKE) + 1):
            around[at] = None
            if 0 <= n + at < len(steps):
                other = steps[n + at]
                around[at] = relative(other.chord, step.key.tonic), other.key == step.key
        ways = ways_to_read(step.chord, step.key).readings
        yield Place(
            piece.name, step.key.is_minor, item.numeral, path[n].roman,
            any(same(way.roman, item.numeral) for way in ways), around,
        )  # fmt: skip


Guess = Callable[[Place], str]


def by_widest(found: Sequence[Place]) -> Guess:
    """The commonest numeral of the widest context that other pieces have."""
    counts: dict[object, Counter[tuple[str, str]]] = defaultdict(Counter)
    for place in found:
        for width in _WIDEST:
            counts[width, place.window(*width)][place.piece, place.numeral] += 1

    def guess(place: Place) -> str:
        for width in _WIDEST:
            others: Counter[str] = Counter()
            for (piece, numeral), count in counts[width, place.window(*width)].items():
                if piece != place.piece:
                    others[numeral] += count
            if others:
                return others.most_common(1)[0][0]
        return place.read

    return guess


def by_likeness(found: Sequence[Place]) -> Guess:
    """The vote of the same chord's places in other pieces, the liker the context the weightier."""
    alike: dict[Window, list[Place]] = defaultdict(list)
    for place in found:
        alike[place.window(0, 0)].append(place)

    def guess(place: Place) -> str:
        votes: dict[str, float] = defaultdict(float)
        for other in alike[place.window(0, 0)]:
            if other.piece != place.piece:
                weight = 1.0
                for at, like in _LIKE.items():
                    if other.around[at] == place.around[at]:
                        weight *= like
                votes[other.numeral] += weight
        return max(votes, key=votes.__getitem__) if votes else place.read

    return guess


def right(guess: Guess) -> Callable[[Place], bool]:
    return lambda place: guess(place) == place.numeral


def share(label: str, found: Sequence[Place], holds: Callable[[Place], bool]) -> None:
    applied = [place for place in found if place.applied]
    print(f"{label:44} {sum(map(holds, found)) / len(found):6.1%} of {len(found)}, "
          f"applied {sum(map(holds, applied)) / len(applied):6.1%} of {len(applied)}")  # fmt: skip


def by_heart(found: Sequence[Place], width: tuple[int, int]) -> None:
    """What even learning every context by heart gets wrong."""
    windows: dict[Window, Counter[str]] = defaultdict(Counter)
    for place in found:
        windows[place.window(*width)][place.numeral] += 1
    again = sum(sum(c.values()) for c in windows.values() if sum(c.values()) > 1)
    both = [c for c in windows.values() if len(c) > 1 and any("/" in name for name in c)]
    top = {window: c.most_common(1)[0][0] for window, c in windows.items()}
    before, after = width
    share(f"by heart, {before} chords before and {after} after", found,
          lambda place: top[place.window(*width)] == place.numeral)  # fmt: skip
    print(f"    {again} stand in a context that comes again, {sum(sum(c.values()) for c in both)} "
          f"in one of {len(both)} written both applied and otherwise")  # fmt: skip


def both_ways(found: Sequence[Place], most: int) -> None:
    """The same chord before the same chord, written as leaning there and not."""
    pairs: dict[Window, Counter[str]] = defaultdict(Counter)
    for place in found:
        if place.around[0] != place.around[1]:
            pairs[place.window(0, 1)][place.numeral] += 1
    mixed = [
        (window, counts)
        for window, counts in pairs.items()
        if 0 < sum("/" in name for name in counts) < len(counts)
    ]
    mixed.sort(key=lambda one: -one[1].total())
    for (minor, (one, after)), counts in mixed[:most]:
        assert one is not None
        told = ", ".join(f"{name} {count}" for name, count in counts.most_common())
        then = "the end" if after is None else after[0].symbol
        kept = "" if after is None or after[1] else " (in another key)"
        print(f"  {'Cm' if minor else 'C'}: {one[0].symbol:6} before {then}{kept}: {told}")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--keep", help="a JSON file to keep the experts' numerals in, for speed")
    parser.add_argument("--show", type=int, default=20, help="how many pairs to print")
    options = parser.parse_args()
    found = [place for piece in kept_pieces([], options.keep) for place in places(piece)]
    guesses = [("widest context", by_widest(found)), ("likest contexts", by_likeness(found))]
    for label, some in (
        ("all pieces", found),
        ("the madrigals", [place for place in found if place.piece.startswith("madrigal")]),
    ):
        print(f"{label}:")
        share("among the reader's readings", some, lambda place: place.reachable)
        share("the reader", some, lambda place: same(place.read, place.numeral))
        for name, guess in guesses:
            share(f"{name}, piece left out", some, right(guess))
        for width in ((0, 0), (0, 1), (1, 1), (2, 2)):
            by_heart(some, width)
    print("written both ways:")
    both_ways(found, options.show)
    return 0


if __name__ == "__main__":
    sys.exit(main())
