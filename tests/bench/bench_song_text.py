"""Song text at length: long fuzzing of symbols, charts, files and melodies; the time of edits.

Printed: how many of the texts were refused; milliseconds of an edit. Held to: nothing but the
project's own errors; the time a bar of an edit takes in a long song against a short one.
"""

from __future__ import annotations

import random
import timeit
from collections.abc import Callable, Sequence
from functools import partial

from engine.chord import parse_chord
from engine.errors import InputError
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Interval
from engine.song import Section, Settings, Song, build, read_bar, read_song, set_bar, write_song
from engine.song.abc_move import moved_melody

ROUNDS = 5_000
LETTERS = "ABCDEFGabmj#♯♭°ø∆+-79113/|.%?() NC\n\t=\"'[]\\{}é"
SYMBOL = (*"CDEFGAB#b♭mΔ°ø+-679/()", "maj7", "dim", "sus", "13", "b9", "add", "no3", "alt")
CHART = ("C", "F#m7", "G7/B", "| ", "|\n", " ", " ", ". ", "(C D)", "%", "N.C.", "?", " # x\n")
MELODY = (*"CDEFGABcdefgab", "2", "/", "^F", "_B", " | ", "z", "[CE]", "(3", '"Am"', "-", "[K:G]")
GOOD = """\
format = 1
title = "Fuzz"
key = "Ab major"

[[section]]
name = "Verse"
chart = \"\"\"
| Ab | Eb/G | Fm . (. C7) Eb | Db |   # a remark
| %  | Bbm7 Eb7 | N.C. | ? |
\"\"\"
arc = "p < mf > p"
melody = "A2 c2 e4 | ^F2 [CE] z3"

[section.bar.3]
right = "1 2 3 2"
waive = { "low interval" = "meant" }
"""


def _random(chance: random.Random, most: int, signs: Sequence[str] = LETTERS) -> str:
    """Signs of a kind of text, now and then a stray one between them."""
    signs = signs if chance.random() < 0.8 else (*signs, chance.choice(LETTERS))
    return "".join(chance.choice(signs) for _ in range(chance.randint(1, most)))


def _damaged(text: str, chance: random.Random) -> str:
    for _ in range(chance.randint(1, 4)):
        at = chance.randint(0, len(text))
        text = text[:at] + _random(chance, 4) + text[at + chance.randint(0, 6) :]
    return text


def _refused(read: Callable[[], object]) -> int:
    try:
        read()
    except InputError:
        return 1
    return 0


def test_no_text_makes_a_reader_fail_but_with_an_error_of_the_project() -> None:
    chance = random.Random(7)
    key, meter, third = Key.parse("Ab major"), Meter.of(4, 4), Interval.parse("m3")
    refused = dict.fromkeys(("symbol", "bar", "chart", "file", "melody", "noise"), 0)
    for _ in range(ROUNDS):
        chart, melody = _random(chance, 30, CHART), _random(chance, 30, MELODY)
        refused["symbol"] += _refused(partial(parse_chord, _random(chance, 7, SYMBOL)))
        refused["bar"] += _refused(partial(read_bar, chart[:12], meter))
        refused["chart"] += _refused(partial(build, "", Settings(), [Section("A", chart)]))
        refused["file"] += _refused(partial(read_song, _damaged(GOOD, chance)))
        refused["melody"] += _refused(partial(moved_melody, melody, key, meter, third))
        refused["noise"] += _refused(partial(parse_chord, _random(chance, 200)))
        refused["noise"] += _refused(partial(read_bar, _random(chance, 200), meter))
    print(f"\nof {ROUNDS} texts each, refused with an error of the project: {refused}")
    assert all(count > 0 for count in refused.values())


def _song(bars: int) -> Song:
    chance = random.Random(3)
    words = ("C", "F . . G", "Am D7/F#", "Dm7 G7sus4 . G7", "Ebmaj7 (. Ab) . .")
    rows = [" | ".join(chance.choice(words) for _ in range(4)) for _ in range(bars // 4)]
    return build("", Settings(), [Section("A", "".join(f"| {row} |\n" for row in rows))])


def _edit_ms(song: Song) -> float:
    symbols = [f"{letter}{suffix}" for letter in "ABCDEFG" for suffix in ("", "m7", "sus4")]
    state = [song]

    def edit() -> None:
        state[0] = set_bar(state[0], 30, symbols.pop())

    return 1000 * min(timeit.repeat(edit, number=1, repeat=len(symbols)))


def test_an_edit_takes_as_long_a_bar_in_a_long_song_as_in_a_short_one() -> None:
    short, long = _edit_ms(_song(64)), _edit_ms(_song(2000))
    ratio = (long / 2000) / (short / 64)
    print(f"\nan edit: 64 bars {short:.2f} ms, 2000 bars {long:.1f} ms; per bar {ratio:.2f} times")
    assert ratio < 2.5


def test_reading_and_writing_a_long_song() -> None:
    song = _song(2000)
    text = write_song(song)
    reading = 1000 * min(timeit.repeat(lambda: read_song(text), number=1, repeat=5))
    edited = set_bar(song, 1000, "Abm7")
    writing = 1000 * min(timeit.repeat(lambda: write_song(edited, text), number=1, repeat=5))
    print(f"\n2000 bars: read {reading:.0f} ms, written over the file {writing:.0f} ms")
    assert writing < 8 * reading
