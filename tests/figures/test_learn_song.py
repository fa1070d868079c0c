"""Figures of a whole song: what one bar leaves open, the bars around it tell."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction

from engine.arrange import arrange
from engine.figures import Heard, heard_in, learn_bar, learn_song
from engine.harmony import analyse
from engine.song import Hand, Song, read_song

F = Fraction


def song(chart: str, more: str = "") -> Song:
    return read_song(
        'format = 1\ntitle = "Weir"\nkey = "C major"\nmeter = "4/4"\ntempo = 80\n'
        f'{more}[[section]]\nname = "A"\nchart = "{chart}"\n'
    )


def eighths(*midis: int) -> list[Heard]:
    return [Heard(F(n, 8), F(1, 8), midi) for n, midi in enumerate(midis)]


def texts(chart: str, heard: dict[int, list[Heard]]) -> dict[int, str]:
    asked = song(chart)
    found = learn_song(asked, analyse(asked), heard, Hand.RIGHT)
    return {number: learned.figure.text.replace(">", "") for number, learned in found.items()}


def test_two_notes_are_read_on_the_shape_that_the_bars_around_have() -> None:
    """C E G, then E and G alone, then C E G: the middle bar is the shape's 2 and 3."""
    full = eighths(60, 64, 67, 64, 60, 64, 67, 64)
    pair = eighths(67, 64, 67, 64, 67, 64, 67, 64)
    asked = song("| C | C | C |")
    alone = learn_bar(pair, Hand.RIGHT, asked, analyse(asked), 2)
    assert alone.figure.text.replace(">", "") == "2 1 2 1 2 1 2 1"
    assert texts("| C | C | C |", {1: full, 2: pair, 3: full})[2] == "3 2 3 2 3 2 3 2"


def test_a_lower_neighbour_is_written_as_the_neighbour_it_is_and_told() -> None:
    heard = {1: eighths(60, 64, 67, 66, 67, 64, 60, 64)}
    asked = song("| C |")
    learned = learn_song(asked, analyse(asked), heard, Hand.RIGHT)[1]
    assert learned.figure.text.replace(">", "") == "1 2 3 n 3 2 1 2"
    assert [note.midi for note in learned.near] == [66]
    assert not learned.exact


def test_octaves_of_struck_notes_are_left_to_the_doubling() -> None:
    heard = {1: [*eighths(60, 64, 67, 64, 60, 64, 67, 64), Heard(F(1, 8), F(1, 8), 76)]}
    asked = song("| C |")
    learned = learn_song(asked, analyse(asked), heard, Hand.RIGHT)[1]
    assert learned.figure.text.replace(">", "") == "1 2 3 2 1 2 3 2"
    assert [note.midi for note in learned.doubled] == [76]
    assert learned.missed == ()


def test_under_a_tie_stands_the_figures_own_first_note() -> None:
    pushed = [*eighths(60, 64, 67, 64, 60, 64, 67), Heard(F(7, 8), F(1, 4), 60)]
    after = [Heard(F(n, 8), F(1, 8), m) for n, m in enumerate((65, 69, 65, 60, 65, 69, 65), 1)]
    found = texts("| C | F |", {1: pushed, 2: after})
    assert found[1] == "1 2 3 2 1 2 3 A"
    assert found[2] == "1 2 3 2 1 2 3 2"


def test_changes_inside_a_bar_are_parted_by_strokes() -> None:
    heard = {1: eighths(60, 64, 67, 64, 69, 65, 60, 65)}
    assert texts("| C F |", heard)[1] == "1 2 3 2 | 3 2 1 2"


def test_what_a_take_plays_is_said_and_applied_again() -> None:
    """Decorated takes: no note is unsaid, and the tokens fill the bars' attacks."""
    asked = song("| C | Am7 | F . . G7 | C | Dm7 G7 | C/E | F G | C |", "outside = 0.6\n")
    reading = analyse(asked)
    part = arrange(asked, reading, take=2)
    for hand in Hand:
        heard = {bar.number: heard_in(part.notes, bar, hand) for bar in asked.bars}
        for number, learned in learn_song(asked, reading, heard, hand).items():
            assert learned.missed == (), (hand, number)
            attacks = {note.onset for note in heard[number]}
            assert learned.figure.attacks >= len(attacks)


def test_silent_bars_are_left_out() -> None:
    heard: dict[int, list[Heard]] = defaultdict(list)
    heard[1] = eighths(60, 64, 67, 64, 60, 64, 67, 64)
    heard[2] = []
    assert set(texts("| C | C |", heard)) == {1}
