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


def test_a_small_pane_says_why_where_to_what_moves_and_what_may_be_added() -> None:
    one, two, _ = _readings("C major", "A7/C# Dm7 G7")
    assert about(one, two, roomy=False) == [
        ("", "C♯ leads to D"),
        ("goes to", "Dm: it does"),
        ("moves", "C♯→C E→D G→F A→A"),
        ("scale", "A B C♯ D E F G"),
        ("add", "B F  rubs D"),
    ]


def test_a_large_pane_says_it_in_sentences() -> None:
    one, two, _ = _readings("C major", "A7/C# Dm7 G7")
    lines = dict(about(one, two, roomy=True))
    assert lines[""] == one.explanation
    assert lines["moves"] == "A stays  C♯→C  E→D  G→F"
    assert lines["may add"] == "B F  rubs D"


# Common practice, no source.
@pytest.mark.parametrize(
    ("key", "chords", "why"),
    [
        ("C minor", "Ab7 G", "A♭ falls and F♯ rises to G"),
        ("C major", "Db7 C", "stands for G7"),
        ("C major", "Fm C", "from C minor"),
        ("C major", "Bbmaj7 C", "from C mixolydian"),
        ("C major", "C/G G", "delays V"),
        ("C major", "Gm7 C7 F", "prepares the dominant of F; B♭ is the lowered seventh degree"),
        ("A minor", "E7 Am", "G♯ is G raised, to lead to A"),
        ("C major", "G7sus4 C", "C stands in for the third, B"),
        ("C major", "C F", ""),
    ],
)
def test_the_shortest_account_of_a_chord(key: str, chords: str, why: str) -> None:
    assert _readings(key, chords)[0].why == why


def test_degrees_are_named_as_the_notes_are_spelled_here() -> None:
    german, _ = _readings("C major", "Ab7 G")
    assert degree_names(german) == {8: "1", 0: "3", 3: "5", 6: "♯6"}
    substitute, _ = _readings("C major", "Ab7 G7")
    assert degree_names(substitute)[6] == "♭7"


@pytest.mark.parametrize("size", [(29, 10), (46, 17)])
def test_a_numeral_of_another_key_than_the_written_names_its_key(size: tuple[int, int]) -> None:
    away = work_on("| [E] | B/D# | C#m7 | A |")
    text = draw_chord(View(away, stages(away.song, None)), *size).text()
    assert "in C♯ minor: tonic" in text
    home = work_on("| [E] | B/D# | C#m7 | A |", key="C# minor")
    assert "in C♯ minor: " not in draw_chord(View(home, stages(home.song, None)), *size).text()


# A long account, a pedal point, a line and a dozen tensions: nothing ends within a word.
@pytest.mark.parametrize("size", [(29, 10), (37, 10), (45, 15)])
@pytest.mark.parametrize(
    "chart",
    [
        "| Em7 | [Ebdim7] | Dm7 | G13 |",
        "| Bb | [Bdim7] | Cm7 | C#dim7 | Dm7 |",
        "| C | [G7alt] | Cmaj7 |",
        "| Am | Am(maj7) | [Am7] | D9 |",
        "| C | [A7] | D7 | G7 |",
    ],
)
def test_what_does_not_fit_is_left_out_by_whole_words(size: tuple[int, int], chart: str) -> None:
    work = work_on(chart)
    view = View(work, stages(work.song, None))
    reading = view.reading_at(work.cursor.bar, 0)
    assert reading is not None
    rows = draw_chord(view, *size).text().splitlines()
    for row in rows[3:-2]:
        *_, last = row.split() or [""]
        assert not last.endswith("…") or last == "…", row
    if size == (45, 15):
        shown = " ".join(" ".join(rows).split())
        assert reading.here in shown or reading.why in shown
