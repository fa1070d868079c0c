"""How fast parts are fingered, played and graded: long against short, again against anew.

Parts are the arranger's, of a song that goes round a cycle of chords in all keys. Printed in
milliseconds; held to are the ratios, taken within one run.
"""

from __future__ import annotations

import random
import time
import timeit
from collections.abc import Callable
from dataclasses import replace

from engine.arrange import arrange
from engine.hands import difficulty, fingering, fingering_cost, fingering_shapes
from engine.hands.fingering import finger_numbers
from engine.harmony import analyse
from engine.part import Part, PartNote
from engine.perform import perform
from engine.pitch import Interval
from engine.song import Hand, Song, read_song

ROUND = [
    "Ab",
    "Eb/G",
    "Fm7",
    "Db",
    "Bbm7",
    "Eb7",
    "C7/E",
    "Fm",
    "E",
    "B/D#",
    "C#m7",
    "A",
    "F#m7",
    "B7",
]


def song(bars: int) -> Song:
    chart = "\n".join(f"| {ROUND[(n * 5 + n // 14) % len(ROUND)]} |" for n in range(bars))
    return read_song(
        'format = 1\ntitle = "Bench"\nkey = "Ab major"\nmeter = "4/4"\ntempo = 76\n'
        'right = "1 2 3 2 1 2 3 2"\nleft = "R 5 8 10 8 5 8 5"\n'
        f'[[section]]\nname = "A"\nchart = """\n{chart}\n"""\n'
    )


def made(bars: int) -> tuple[Song, Part]:
    asked = song(bars)
    part = arrange(asked, analyse(asked))
    return asked, replace(part, notes=tuple(replace(note, finger=None) for note in part.notes))


def best(work: Callable[[], object], times: int = 9) -> float:
    """The least processor time of several runs, in seconds, without the garbage collector."""
    return min(timeit.repeat(work, timer=time.process_time, repeat=times, number=1))


def compared(
    what: str, short: Callable[[], object], long: Callable[[], object], times: int, size: int
) -> float:
    """How much longer a note takes in the long work, `times` as many notes as the short's `size`.

    Both are run by turns and equally long, so that a busy machine slows both.
    """
    pairs = [
        (
            timeit.timeit(short, timer=time.process_time, number=times),
            timeit.timeit(long, timer=time.process_time, number=1),
        )
        for _ in range(9)
    ]
    a, b = (min(column) / (times * size) * 1e6 for column in zip(*pairs, strict=True))
    print(f"\n{what}: {a:.2f} µs a note short, {b:.2f} long")
    return float(b / a)


def forget() -> None:
    """Empty what the fingering remembers of positions, but not the model's tables."""
    fingering_shapes.finger_strokes.cache_clear()
    fingering_shapes._position.cache_clear()
    fingering._line_fingers.cache_clear()
    fingering._fingers.cache_clear()


def anew(notes: tuple[PartNote, ...], asked: Song) -> list[int]:
    forget()
    return finger_numbers(notes, asked)


def test_long_parts_take_no_longer_a_note() -> None:
    short_song, short = made(64)
    long_song, long = made(512)
    size = len(long.notes) / 8
    again = compared(
        "fingered again",
        lambda: finger_numbers(short.notes, short_song),
        lambda: finger_numbers(long.notes, long_song),
        8,
        round(size),
    )
    anew_ = compared(
        "fingered anew",
        lambda: anew(short.notes, short_song),
        lambda: anew(long.notes, long_song),
        8,
        round(size),
    )
    assert again <= 1.2
    assert anew_ <= 1.2


def test_fingering_is_a_small_part_of_arranging() -> None:
    asked, part = made(64)
    reading = analyse(asked)
    arranging = best(lambda: arrange(asked, reading))
    cold = best(lambda: anew(part.notes, asked))
    warm = best(lambda: finger_numbers(part.notes, asked))
    print(
        f"\n64 bars, {len(part.notes)} notes: arranged {arranging * 1e3:.2f} ms, "
        f"fingered anew {cold * 1e3:.2f} ms, again {warm * 1e3:.2f} ms"
    )
    assert warm <= arranging


def test_an_edit_costs_what_it_changes() -> None:
    asked, part = made(64)
    finger_numbers(part.notes, asked)
    middle = [n for n in part.notes if n.bar == 30]
    moved = {id(note): replace(note, pitch=note.pitch + Interval.parse("M2")) for note in middle}
    edited = tuple(moved.get(id(note), note) for note in part.notes)
    cold = best(lambda: anew(part.notes, asked))
    after = best(lambda: finger_numbers(edited, asked))
    print(f"\nanew {cold * 1e3:.2f} ms, after one bar's edit {after * 1e3:.2f} ms")
    assert after <= cold


def test_the_search_alone_is_linear() -> None:
    chance = random.Random(7)
    line = [chance.randint(48, 76) for _ in range(2000)]
    search = fingering_cost.cheapest_fingering
    search(line, Hand.RIGHT)
    ratio = compared(
        "note by note",
        lambda: search(line[:250], Hand.RIGHT),
        lambda: search(line, Hand.RIGHT),
        8,
        250,
    )
    assert ratio <= 1.2


def test_playing_and_grading_are_linear() -> None:
    short_song, short = made(64)
    long_song, long = made(512)
    size = round(len(long.notes) / 8)
    short_notes, long_notes = short.notes, long.notes
    playing = compared(
        "played", lambda: perform(short, short_song), lambda: perform(long, long_song), 8, size
    )
    grading = compared(
        "graded again",
        lambda: difficulty(short_notes, short_song),
        lambda: difficulty(long_notes, long_song),
        8,
        size,
    )
    assert playing <= 1.2
    assert grading <= 1.5  # bars once graded are looked up: memory, not work
