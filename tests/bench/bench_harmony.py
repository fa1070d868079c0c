"""Speed of reading, as a ratio to music21 in the same run; long fuzzing of symbols and readings."""

from __future__ import annotations

import random
from time import perf_counter

from engine.chord import Chord, parse_chord
from engine.errors import ChordError
from engine.harmony import Step, analyse, read_progression
from engine.key import Key
from engine.song import read_song

SYMBOLS = ["C", "A7", "Dm7", "G7", "Em", "F", "Fm", "Bdim7", "D7", "Am7", "Eb", "G7sus4"]


def _best(run: object, times: int) -> float:
    assert callable(run)
    found = []
    for _ in range(times):
        start = perf_counter()
        run()
        found.append(perf_counter() - start)
    return min(found)


def test_a_chord_is_analysed_a_hundred_times_faster_than_by_music21() -> None:
    from music21 import harmony, key, roman

    home = Key.parse("C major")

    def ours() -> None:
        for reading in read_progression([Step(parse_chord(text), home) for text in SYMBOLS]):
            assert reading.roman

    def theirs() -> None:
        tonic = key.Key("C")
        for text in SYMBOLS:
            roman.romanNumeralFromChord(harmony.ChordSymbol(text.replace("b", "-")), tonic)

    ours()
    theirs()
    mine, other = _best(ours, 30), _best(theirs, 3)
    print(f"\nanalysing a chord: {other / mine:.0f} times faster than music21")
    assert other > 100 * mine


def test_sixty_four_bars_are_read_faster_than_one_chord_by_music21_times_twenty() -> None:
    from music21 import harmony, key, roman

    row = "| C | A7 | Dm7 | G7 | Em Am | F Fm | C/G G7 | C Bb7 |\n"
    song = read_song(
        f'format = 1\ntitle = "x"\nkey = "C major"\nmeter = "4/4"\n'
        f'[[section]]\nname = "A"\nchart = """\n{row * 8}"""\n'
    )

    def theirs() -> None:
        roman.romanNumeralFromChord(harmony.ChordSymbol("G7"), key.Key("C"))

    analyse(song)
    theirs()
    mine, other = _best(lambda: analyse(song), 20), _best(theirs, 10)
    print(f"\n64 bars: {1000 * mine:.1f} ms, {mine / other:.1f} single chords by music21")
    assert mine < 20 * other


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
