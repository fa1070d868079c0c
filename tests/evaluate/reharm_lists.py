"""Measures the lists themselves: open bars cut from songs that the style was not made from.

Run `python -m tests.evaluate.reharm_lists [--songs N]`. The style is made from four fifths of the
training songs; of the others, N songs are cut into pieces of nine bars with an open bar in the
middle, written as song files and read again, in the key as it is and in its relative. It prints
how often the song's own chord (root, and triad with a dominant seventh counted apart and as
major) is among the first five, the same for a list by counts of single chords, and some misses.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from unittest import mock

import shared
from engine.chord import Chord
from engine.errors import InputError
from engine.key import Key
from engine.reharm import suggest
from engine.reharm.families import DOMINANT, MAJOR, POWER, family
from engine.reharm.style import likelihood, style
from engine.song import Song, read_song
from tests.evaluate.harmony_songs import AnnotatedSong, songs
from tests.evaluate.reharm_style import folds, read_songs, table_of

CONTEXT = 4


@dataclass(frozen=True)
class Cut:
    """Nine bars with the fifth open, and the chord that stood there."""

    song: Song
    answer: Chord


def relative(key: Key) -> Key:
    """The key with the same signature in the other mode."""
    return Key(key.scale[2], "major") if key.is_minor else Key(key.scale[5], "minor")


def _broad(chord: Chord, *, dominant: bool) -> tuple[int, int]:
    kind = family(chord)
    if kind == POWER or (kind == DOMINANT and not dominant):
        kind = MAJOR
    return chord.root.pc, kind


def bars_of(song: AnnotatedSong) -> list[tuple[Key, list[Chord | None]]]:
    """Each bar's key and chords."""
    found: list[tuple[Key, list[Chord | None]]] = []
    for each in song.chords:
        while len(found) < each.bar:
            found.append((each.key, []))
        found[each.bar - 1][1].append(each.chord)
    return found


def cuts(song: AnnotatedSong, *, other: bool) -> Iterator[Cut]:
    """The pieces of one song in which the middle bar and its neighbours all differ."""
    bars = bars_of(song)
    for at in range(CONTEXT, len(bars) - CONTEXT):
        around = bars[at - CONTEXT : at + CONTEXT + 1]
        chords = [[chord for chord in bar if chord is not None] for _, bar in around]
        same = all(key == around[0][0] for key, _ in around)
        if (
            not same
            or len(around[CONTEXT][1]) != 1
            or any(
                len(known) != len(bar) or len(bar) not in (1, 2, 4)
                for known, (_, bar) in zip(chords, around, strict=True)
            )
        ):
            continue
        answer, past, future = chords[CONTEXT][0], chords[CONTEXT - 1][-1], chords[CONTEXT + 1][0]
        sounds = {(chord.root.pc, family(chord)) for chord in (answer, past, future)}
        if len(sounds) < 3:
            continue
        words = [" ".join(chord.symbol for chord in bar) for bar in chords]
        words[CONTEXT] = "?"
        key = around[0][0]
        key = relative(key) if other else key
        text = (
            f'format = 1\ntitle = "Piece"\nkey = "{key.name}"\nmeter = "4/4"\ntempo = 90\n'
            f'[[section]]\nname = "A"\nchart = """\n| {" | ".join(words)} |\n"""\n'
        )
        try:
            yield Cut(read_song(text), answer)
        except InputError as error:
            print(f"not read: {error}")


def measure(chosen: list[AnnotatedSong], *, other: bool) -> None:
    hits: Counter[bool] = Counter()
    missed: Counter[str] = Counter()
    total = 0
    for song in chosen:
        for cut in cuts(song, other=other):
            total += 1
            found = suggest(cut.song, None, CONTEXT + 1, count=5)
            assert all(a.score >= b.score for a, b in pairwise(found))
            for dominant in (True, False):
                wanted = _broad(cut.answer, dominant=dominant)
                hits[dominant] += wanted in {
                    _broad(each.chord, dominant=dominant) for each in found if not each.chords[1:]
                }
            if _broad(cut.answer, dominant=False) not in {
                _broad(each.chord, dominant=False) for each in found
            }:
                bars = cut.song.bars
                near = [bars[n].slots[0].chord for n in (3, 5)]
                around = " ? ".join(chord.symbol for chord in near if chord)
                missed[f"{bars[0].key}: {around}: {cut.answer.symbol}"] += 1
    named = "its relative key" if other else "its key"
    print(f"in {named}: {total} bars, {hits[True] / total:.3f}, "
          f"sevenths as triads {hits[False] / total:.3f}")  # fmt: skip
    for name, count in missed.most_common(12):
        print(f"  {count} × {name}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--songs", type=int, default=30, help="how many songs are cut up")
    count = parser.parse_args().songs
    corpus, annotated = read_songs(), songs()
    out = set(folds(corpus)[0])
    table = table_of([song for n, song in enumerate(corpus) if n not in out])
    text = shared.text

    def other(folder: str, name: str) -> str:
        return table if name == "style.json" else text(folder, name)

    style.cache_clear()
    likelihood.cache_clear()
    with mock.patch.object(shared, "text", other):
        chosen = [annotated[n] for n in sorted(out)[:count]]
        for relative_key in (False, True):
            measure(chosen, other=relative_key)


if __name__ == "__main__":
    main()
