"""Spellings of practice damaged at length: nothing but the project's own errors, and soon.

Printed: how many texts were read, and the longest time one took. Held to: an error's span lies in
the text and what it proposes is a symbol; what is read reads back in both kinds of signs; no text
of up to 200 signs takes 50 ms of processor time.
"""

from __future__ import annotations

import random
import tomllib
from collections.abc import Callable
from functools import partial
from pathlib import Path
from time import process_time

from engine.chord import Chord, parse_chord
from engine.errors import ChordError, InputError
from engine.meter import Meter
from engine.song import read_bar

ROUNDS = 50_000
MOST_SIGNS, MOST_SECONDS = 200, 0.05
SIGNS = "ABCDEFGabcdefghijklmnopqrstuvwxyz0123456789#b♯♭𝄪𝄫°øΔ+-/()[],. |%?:~\\'\"\n\t"
#: NUL, halves of surrogate pairs, combining and invisible signs, digits of other scripts, letters
#: whose case is longer than they are, very long digits and brackets.
ODD = (
    "\x00", "\ud800", "\udfff", "\u0301", "\u200f", "\u202e", "\ufeff", "\u200b", "\ufe0f", "٣",
    "９", "𝟕", "²", "①", "½", "ß", "İ", "ı", "ﬁ", "🎹", "\u2028", "\x85", "\x1b", "é", "Ａ",
    "1" * 40, "9" * 100, "#" * 60, "b" * 60, "(" * 50, ")" * 50, " " * 80, "/" * 60, "sus", "add",
    "no", "omit", "maj", "dim", "alt", "bass", "on ", "/ ", "♭♭", "69", "6/9", "C/", "N.C.",
    "(. D)",
)  # fmt: skip


def _suffixes() -> list[str]:
    path = Path(__file__).parents[1] / "chord" / "printed.toml"
    table = tomllib.loads(path.read_text(encoding="utf-8"))
    return [suffix for kind in table.values() for row in kind.values() for suffix in row]


def _begun(chance: random.Random, suffixes: list[str]) -> str:
    kind = chance.random()
    if kind < 0.6:
        return chance.choice("ABCDEFG") + chance.choice(["", "b", "♯"]) + chance.choice(suffixes)
    if kind < 0.75:
        return "".join(chance.choice(SIGNS) for _ in range(chance.randint(0, MOST_SIGNS)))
    if kind < 0.9:
        return "".join(chance.choice(ODD) for _ in range(chance.randint(0, 30)))
    ends = (0x80, 0x3000, 0x110000)
    return "".join(chr(chance.randrange(chance.choice(ends))) for _ in range(chance.randint(0, 99)))


def _damaged(chance: random.Random, suffixes: list[str]) -> str:
    text = _begun(chance, suffixes)
    for _ in range(chance.choice((0, 1, 1, 1, 2, 3, 6))):
        at, kind = chance.randrange(len(text) + 1), chance.random()
        if kind < 0.5:
            text = text[:at] + chance.choice(SIGNS if kind < 0.3 else ODD) + text[at:]
        elif kind < 0.65:
            text = text[:at] + text[at + 1 :]
        elif kind < 0.8:
            text += chance.choice(suffixes)
        else:
            text = text[:at] + text[:at][::-1] + text[at:]
    return text[:MOST_SIGNS]


def _soon(read: Callable[[], bool]) -> tuple[bool, float]:
    """What reading gives, and its time; what was long once (the collector came) is tried again."""
    start = process_time()
    found = read()
    took = process_time() - start
    for _ in range(3 if took > MOST_SECONDS / 10 else 0):
        start = process_time()
        read()
        took = min(took, process_time() - start)
    return found, took


def _tried(text: str) -> Chord | ChordError:
    try:
        return parse_chord(text)
    except ChordError as error:
        return error


def _symbol(text: str) -> bool:
    found = _tried(text)
    if isinstance(found, Chord):
        assert parse_chord(found.symbol) == found, repr(text)
        assert parse_chord(found.pretty) == found, repr(text)
        return True
    assert found.place is not None
    assert 1 <= found.place.column <= max(1, len(text)), repr(text)
    assert found.place.column - 1 + found.place.length <= max(1, len(text)), repr(text)
    assert not found.suggestion or parse_chord(found.suggestion), repr(text)
    return False


def _bar(text: str) -> bool:
    try:
        read_bar(text, Meter.of(4, 4))
    except InputError as error:
        return not error.report()
    return True


def test_damaged_symbols_and_bars_are_read_or_refused_soon() -> None:
    chance, suffixes = random.Random(5), _suffixes()
    for name, read in (("symbols", _symbol), ("bars", _bar)):
        read("Cfoo")  # tables are read once
        count, longest = 0, 0.0
        for _ in range(ROUNDS):
            text = _damaged(chance, suffixes)
            if read is _bar:
                text = f"{text[:60]} {_damaged(chance, suffixes)}"[:MOST_SIGNS]
            found, took = _soon(partial(read, text))
            count += found
            longest = max(longest, took)
        print(f"\n{name}: {count} of {ROUNDS} read, the longest took {1000 * longest:.1f} ms")
        assert count > ROUNDS // 100
        assert longest < MOST_SECONDS
