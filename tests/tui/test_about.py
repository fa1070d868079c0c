"""The chord pane's lines about a reading: terms in a small pane, sentences in a large one."""

from __future__ import annotations

import pytest

from engine.chord import parse_chord
from engine.harmony import ChordReading, Step, read_progression
from engine.key import Key
from engine.workshop import stages
from tests.tui.desk_helpers import work_on
from tui.view import View
from tui.widgets.about import about, degree_names
from tui.widgets.chord import draw_chord


def _readings(key: str, chords: str) -> tuple[ChordReading, ...]:
    home = Key.parse(key)
    return read_progression([Step(parse_chord(text), home) for text in chords.split()])


def test_a_small_pane_says_what_moves_and_marks_what_rubs() -> None:
    one, two, _ = _readings("C major", "A7/C# Dm7 G7")
    assert about(one, two, roomy=False) == [
        ("keeps", "A · C♯→C E→D G→F"),
        ("scale", "A +B C♯ D! E +F G"),
    ]


def test_a_large_pane_says_it_in_words() -> None:
    one, two, _ = _readings("C major", "A7/C# Dm7 G7")
    lines = dict(about(one, two, roomy=True))
    assert lines["keeps"] == "A · C♯→C  E→D  G→F"
    assert lines["may add"] == "B F · rubs D"


@pytest.mark.parametrize(
    ("chords", "line"),
    [
        ("G7 C", ("keeps", "G · B,D→C F→E")),
        ("C G7", ("keeps", "G · C→D,B E→F")),
        ("F Eb", ("moves", "F→G A→B♭ C→E♭")),
        ("C C6", ("keeps", "C E G · G→A")),
    ],
)
def test_notes_that_go_together_are_told_together(chords: str, line: tuple[str, str]) -> None:
    one, two = _readings("C major", chords)
    label, text = about(one, two, roomy=False)[0]
    assert (label, text) == line


# Common practice, no source: the account of a chord in a pane that holds few signs.
@pytest.mark.parametrize(
    ("key", "chords", "signs", "said"),
    [
        ("C minor", "Ab7 G", 65, "German sixth: A♭ falls and F♯ rises to G. G follows."),
        ("C major", "Db7 C", 60, "Tritone substitute of G7. C follows."),
        ("C major", "Fm C", 50, "Borrowed from C minor; A♭ is the lowered sixth."),
        ("C major", "C/G G C", 45, "Cadential six-four: over G it delays V."),
        ("C major", "Gm7 C7 F", 60, "Prepares the dominant of F; B♭ is from F major. C7 follows."),
        ("A minor", "E7 Am", 40, "Dominant; G♯ is G raised. Am follows."),
        ("C major", "G7sus4 C", 50, "Dominant; C stands in for B. C follows."),
        ("C major", "D7 F", 55, "Dominant of G; F♯ leads to G. It wants G but goes to F."),
        ("C major", "F G7", 70, "The subdominant. It leads to the dominant, and G7 follows."),
        ("C major", "Am F", 60, "Minor triad, the relative minor, in place of the tonic."),
        ("C major", "G C", 15, "Dominant."),
    ],
)  # fmt: skip
def test_a_chord_is_told_in_so_many_signs(key: str, chords: str, signs: int, said: str) -> None:
    reading = _readings(key, chords)[0]
    assert reading.account(lambda text: len(text) <= signs) == said


def test_degrees_are_named_as_the_notes_are_spelled_here() -> None:
    german, _ = _readings("C major", "Ab7 G")
    assert degree_names(german) == {8: "1", 0: "3", 3: "5", 6: "♯6"}
    substitute, _ = _readings("C major", "Ab7 G7")
    assert degree_names(substitute)[6] == "♭7"


@pytest.mark.parametrize(("size", "key"), [((29, 10), "C♯m"), ((46, 17), "C♯ minor")])
def test_a_numeral_of_another_key_than_the_written_names_its_key(
    size: tuple[int, int], key: str
) -> None:
    away = work_on("| [E] | B/D# | C#m7 | A |")
    text = draw_chord(View(away, stages(away.song, None)), *size).text()
    assert f"{key}: III  tonic" in text
    home = work_on("| [E] | B/D# | C#m7 | A |", key="C# minor")
    assert f"{key}: " not in draw_chord(View(home, stages(home.song, None)), *size).text()
