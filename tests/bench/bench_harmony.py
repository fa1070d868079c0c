"""Speed of reading, as a ratio to music21 in the same run; long fuzzing of symbols and readings."""

from __future__ import annotations

import random
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from time import process_time
from typing import Any

from engine.chord import Chord, kinds, parse_chord
from engine.errors import ChordError
from engine.harmony import Step, analyse, read_progression
from engine.key import Key
from engine.pitch import Note
from engine.song import read_song

SYMBOLS = ["C", "A7", "Dm7", "G7", "Em", "F", "Fm", "Bdim7", "D7", "Am7", "Eb", "G7sus4"]
ROOTS = ("C", "Db", "C#", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B")
# fmt: off
MORE = ("7b9", "7#9", "7b5", "7#11", "m7#5", "madd9", "9#11", "13b9", "7(b9,#11)", "maj9#11",
        "m11b5", "7b9#9", "6add9", "m7add11", "9#5", "7#5#9", "13#11", "m9b5", "add9", "7no5")
#: Suffixes that music21 reads too (it refuses a third of the others).
COMMON = ("", "m", "aug", "dim", "7", "maj7", "m7", "dim7", "m7b5", "6", "m6", "9", "m9", "11",
          "13", "sus2", "sus4", "7sus4")
# fmt: on
SUFFIXES = tuple(dict.fromkeys([*(kind.suffix for kind in kinds()), *MORE]))


def _cpu(run: Callable[[], object]) -> float:
    """Processor seconds, which other programs on the machine do not lengthen."""
    start = process_time()
    run()
    return process_time() - start


def _forget() -> None:
    """Empty every cache of the project but the tables read from files."""
    for name, module in list(sys.modules.items()):
        if name.startswith("engine."):
            for what in vars(module).values():
                if hasattr(what, "cache_clear") and what.cache_info().maxsize != 1:
                    what.cache_clear()


def _read_in(keys: Sequence[Key], symbols: Sequence[str]) -> None:
    """Twelve symbols a progression, and each progression in the next key."""
    for n, at in enumerate(range(0, len(symbols), 12)):
        steps = [Step(parse_chord(text), keys[n % len(keys)]) for text in symbols[at : at + 12]]
        assert all(reading.roman for reading in read_progression(steps))


def _written_for_music21(text: str) -> str:
    """The symbol with the flats of root and bass as `-`."""
    head, slash, bass = text.partition("/")
    return head[:2].replace("b", "-") + head[2:] + slash + bass.replace("b", "-")


def _by_music21(symbols: Sequence[str], keys: Sequence[Any]) -> None:
    from music21 import harmony, roman

    for n, text in enumerate(symbols):
        chord = harmony.ChordSymbol(_written_for_music21(text))
        roman.romanNumeralFromChord(chord, keys[n // 12 % len(keys)])


def _measured(shared: Sequence[str], every: Sequence[str]) -> tuple[float, float, float]:
    """Seconds a symbol: of ours for both lists, of music21 for those that it reads too."""
    from music21 import key

    names = ["C", "a", "E-", "f#", "G", "B-", "d", "A-"]
    theirs = [key.Key(name) for name in names]
    ours = [Key.parse(name.replace("-", "b")) for name in names]
    _by_music21(SYMBOLS, theirs)
    _read_in(ours, SYMBOLS)
    mine, wide, other = [], [], []
    for at in range(0, len(shared), 36):
        part = shared[at : at + 36]
        other.append(_cpu(partial(_by_music21, part, theirs)) / len(part))
        for _ in range(3):
            _forget()
            mine.append(_cpu(lambda: _read_in(ours, shared)) / len(shared))
            _forget()
            wide.append(_cpu(lambda: _read_in(ours, every)) / len(every))
    return min(mine), min(wide), sum(other) / len(other)


def _never_seen(what: str, shared: Sequence[str], every: Sequence[str]) -> float:
    """The lower ratio for two lists, in a process where neither side has read anything before."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as child:
        mine, wide, theirs = child.submit(_measured, shared, every).result()
    ratio = _ratio(f"{len(shared)} {what} never seen", mine, theirs)
    return min(ratio, _ratio(f"{len(every)} {what} with more suffixes", wide, theirs))


def _ratio(what: str, mine: float, other: float) -> float:
    ratio = other / mine
    print(f"\n{what}: {1e6 * mine:.0f} µs a chord, music21 {1e6 * other:.0f}: {ratio:.0f} times")
    return ratio


def test_symbols_seen_before_are_analysed_a_hundred_times_faster_than_by_music21() -> None:
    """The same twelve again and again, music21's caches as warm as ours."""
    from music21 import key

    ours, theirs = [Key.parse("C major")], [key.Key("C")]
    _read_in(ours, SYMBOLS)
    _by_music21(SYMBOLS, theirs)
    mine, other = [], []
    for _ in range(12):
        other.append(_cpu(lambda: _by_music21(SYMBOLS, theirs)))
        mine += [_cpu(lambda: _read_in(ours, SYMBOLS)) for _ in range(8)]
    assert _ratio("seen before", min(mine) / 12, min(other) / 12) > 100


def test_symbols_never_seen_are_analysed_a_hundred_times_faster_than_by_music21() -> None:
    """Every symbol once in the life of the caches, each progression in another key.

    All caches are empty before each round, so that every symbol is read, every way to read its
    chord worked out and joined to its neighbours'. music21 meets each symbol for the first time
    too, after the twelve of the test above, so that what it loads once is not counted.
    """
    chance = random.Random(2)
    shared, every = (
        [root + suffix for root in ROOTS for suffix in suffixes] for suffixes in (COMMON, SUFFIXES)
    )
    chance.shuffle(shared)
    chance.shuffle(every)
    assert _never_seen("symbols", shared, every) > 100


def _over_basses(suffixes: Sequence[str], chance: random.Random) -> list[str]:
    """Symbols over another note, spelled from their side as players write it: no C#/Bb."""
    line = {root: Note.parse(root).fifths for root in ROOTS}
    basses = {
        root: [bass for bass in ROOTS if 0 < abs(line[bass] - line[root]) <= 5] for root in ROOTS
    }
    found = [
        f"{root}{suffix}/{chance.choice(basses[root])}" for root in ROOTS for suffix in suffixes
    ]
    chance.shuffle(found)
    return found


def test_slash_chords_never_seen_are_analysed_a_hundred_times_faster_than_by_music21() -> None:
    """The same for every symbol over some other note, a member of the chord or not."""
    chance = random.Random(3)
    shared, every = _over_basses(COMMON, chance), _over_basses(SUFFIXES, chance)
    assert _never_seen("slash chords", shared, every) > 100


def test_a_song_is_analysed_a_hundred_times_faster_than_its_chords_by_music21() -> None:
    """The whole way of the screen: keys, readings, spans; music21 is asked for numerals alone.

    The song has been read before, as after an edit elsewhere: what chords and pairs of chords
    say is remembered, keys and paths are found anew.
    """
    from music21 import key

    symbols = ["C", "A7", "Dm7", "G7", "Em", "Am", "F", "Fm", "C", "G7", "C", "Bb7"]
    row = "| C | A7 | Dm7 | G7 | Em Am | F Fm | C G7 | C Bb7 |\n"
    song = read_song(
        f'format = 1\ntitle = "x"\nkey = "C major"\nmeter = "4/4"\n'
        f'[[section]]\nname = "A"\nchart = """\n{row * 8}"""\n'
    )
    theirs = [key.Key("C")]
    count = len(analyse(song).chords)
    _by_music21(symbols, theirs)
    mine, other = [], []
    for _ in range(10):
        other.append(_cpu(lambda: _by_music21(symbols, theirs)) / len(symbols))
        mine += [_cpu(lambda: analyse(song)) / count for _ in range(4)]
    assert _ratio("in a song of 64 bars", min(mine), min(other)) > 100


ROUNDS = 40_000
PARTS = (
    *"ABCDEFGHabcdefgmMo°øΔ^+-#b♯♭x/(),.[] 0123456789é", "maj", "min", "dim", "sus", "sus4",
    "sus24", "add", "no", "alt", "aug", "6/9", "13", "b9", "#11", "m7b5", "maj7", "add9", "no3",
    "add#", "bb7", "sus2", "b4",
)  # fmt: skip
KEYS = ("C major", "F# major", "Cb major", "Ab minor", "A# minor", "D dorian", "E phrygian")


def _symbol(text: str) -> Chord | None:
    try:
        return parse_chord(text)
    except ChordError as error:
        column = error.place.column if error.place else 0
    assert 1 <= column <= max(1, len(text)), text
    return None


def test_any_symbol_is_refused_or_reads_back_and_is_explained_in_any_key() -> None:
    chance = random.Random(11)
    keys = [Key.parse(name) for name in KEYS]
    read = 0
    for _ in range(ROUNDS):
        length = chance.choice((1, 2, 3, 4, 6, 10, 40, 200))
        text = chance.choice("CDEFGAB") + "".join(chance.choice(PARTS) for _ in range(length))
        chord = _symbol(text[:200])
        if chord is None:
            continue
        read += 1
        assert parse_chord(chord.symbol) == chord, text
        (reading,) = read_progression([Step(chord, chance.choice(keys))])
        assert {note.pc for note in reading.notes} == chord.pitch_classes, (text, reading.key)
        assert all(abs(note.alter) <= 2 for note in reading.notes), (text, reading.key)
        assert reading.explanation.endswith(".")
        assert reading.scale
    print(f"\n{read} of {ROUNDS} texts are symbols; each reads back and is explained")
    assert read > ROUNDS // 20
