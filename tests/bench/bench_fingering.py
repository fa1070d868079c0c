"""How fast parts are fingered, played and graded: long against short, again against anew.

Parts are the arranger's, of a song that goes round a cycle of chords in all keys. Printed in
milliseconds; held to are the ratios, taken within one run.
"""

from __future__ import annotations

import random
import timeit
from collections.abc import Callable
from dataclasses import replace

from engine.arrange import arrange
from engine.hands import difficulty, finger, fingering, fingering_cost, fingering_shapes
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


def best(work: Callable[[], object], times: int = 7) -> float:
    """The shortest of several runs, in seconds, without the garbage collector (as timeit)."""
    return min(timeit.repeat(work, repeat=times, number=1))


def forget() -> None:
    """Empty what the fingering remembers of positions, but not the model's tables."""
    fingering_shapes.finger_strokes.cache_clear()
    fingering_shapes._position.cache_clear()
    fingering._line_fingers.cache_clear()


def anew(notes: tuple[PartNote, ...], asked: Song) -> list[int]:
    forget()
    return finger_numbers(notes, asked)


def test_long_parts_take_no_longer_a_note() -> None:
    short_song, short = made(64)
    long_song, long = made(512)
    a = best(lambda: finger(short.notes, short_song)) / len(short.notes)
    b = best(lambda: finger(long.notes, long_song)) / len(long.notes)
    print(f"\nfingered again: {a * 1e6:.2f} µs a note over 64 bars, {b * 1e6:.2f} over 512")
    assert b <= 1.2 * a
    a = best(lambda: anew(short.notes, short_song)) / len(short.notes)
    b = best(lambda: anew(long.notes, long_song)) / len(long.notes)
    print(f"fingered anew: {a * 1e6:.2f} µs a note over 64 bars, {b * 1e6:.2f} over 512")
    assert b <= 1.2 * a


def test_fingering_is_a_small_part_of_arranging() -> None:
    asked, part = made(64)
    reading = analyse(asked)
    arranging = best(lambda: arrange(asked, reading))
    cold = best(lambda: anew(part.notes, asked))
    warm = best(lambda: finger(part.notes, asked))
    print(
        f"\n64 bars, {len(part.notes)} notes: arranged {arranging * 1e3:.2f} ms, "
        f"fingered anew {cold * 1e3:.2f} ms, again {warm * 1e3:.2f} ms"
    )
    assert warm <= arranging


def test_an_edit_costs_what_it_changes() -> None:
    asked, part = made(64)
    finger(part.notes, asked)
    middle = [n for n in part.notes if n.bar == 30]
    moved = {id(note): replace(note, pitch=note.pitch + Interval.parse("M2")) for note in middle}
    edited = tuple(moved.get(id(note), note) for note in part.notes)
    cold = best(lambda: anew(part.notes, asked))
    after = best(lambda: finger(edited, asked))
    print(f"\nanew {cold * 1e3:.2f} ms, after one bar's edit {after * 1e3:.2f} ms")
    assert after <= cold


def test_the_search_alone_is_linear() -> None:
    chance = random.Random(7)
    line = [chance.randint(48, 76) for _ in range(2000)]
    fingering_cost.cheapest_fingering(line, Hand.RIGHT)
    a = best(lambda: fingering_cost.cheapest_fingering(line[:250], Hand.RIGHT)) / 250
    b = best(lambda: fingering_cost.cheapest_fingering(line, Hand.RIGHT)) / 2000
    print(f"\nnote by note: {a * 1e6:.1f} µs a note over 250 notes, {b * 1e6:.1f} over 2000")
    assert b <= 1.2 * a


def _played_and_graded(bars: int) -> tuple[float, float]:
    asked, part = made(bars)
    notes = finger(part.notes, asked)
    playing = best(lambda: perform(part, asked)) / len(part.notes)
    grading = best(lambda: difficulty(notes, asked)) / len(part.notes)
    print(f"\n{bars} bars: played {playing * 1e6:.1f} µs a note, graded {grading * 1e6:.1f}")
    return playing, grading


def test_playing_and_grading_are_linear() -> None:
    short_playing, short_grading = _played_and_graded(64)
    long_playing, long_grading = _played_and_graded(512)
    assert long_playing <= 1.2 * short_playing
    assert long_grading <= 1.5 * short_grading  # bars once graded are looked up: memory, not work
