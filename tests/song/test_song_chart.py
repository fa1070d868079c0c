"""The chart grammar: how bars become slots, and what is said where they can't."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import ChartError, InputError
from engine.meter import Meter
from engine.song import Section, Settings, SlotKind, Song, build, read_bar
from engine.song.chart import split
from tests.song.song_strategies import charts, complaint


def song(chart: str, meter: str = "4/4") -> Song:
    return build("", Settings(meter=Meter.parse(meter)), [Section("A", chart)])


def times(chart: str, meter: str = "4/4") -> list[list[tuple[str, str]]]:
    """Symbol and duration of each slot, bar by bar."""
    return [
        [(slot.typed, str(slot.duration)) for slot in bar.slots] for bar in song(chart, meter).bars
    ]


@pytest.mark.parametrize(
    ("meter", "bar", "durations"),
    [
        ("4/4", "C", "1"),
        ("4/4", "C G", "1/2 1/2"),
        ("4/4", "C G F", "1/3 1/3 1/3"),
        ("4/4", "C . . G", "3/4 1/4"),
        ("4/4", "C . (. D) .", "5/8 3/8"),
        ("4/4", "C (D . E) F .", "1/4 1/6 1/12 1/2"),
        ("3/4", "C . G", "1/2 1/4"),
        ("2/2", "C G", "1/2 1/2"),
        ("2/2", "C .", "1"),
        ("2/2", "C D E F", "1/4 1/4 1/4 1/4"),
        ("6/8", "C G", "3/8 3/8"),
        ("6/8", "C .", "3/4"),
        ("6/8", "C (. . G)", "5/8 1/8"),
        ("12/8", "C . G .", "3/4 3/4"),
        ("5/4", "C G", "3/4 1/2"),
        ("5/4", "C . . . G", "1 1/4"),
        ("7/8", "C F G", "1/4 1/4 3/8"),
        ("7/8", "C G", "1/2 3/8"),
        ("3+2+2/8", "C G", "3/8 1/2"),
        ("7/8", "C . . . G . .", "1/2 3/8"),
    ],
)
def test_chords_share_the_bar_by_groups_and_dots_count_beats(
    meter: str, bar: str, durations: str
) -> None:
    slots = song(f"| {bar} |", meter).bars[0].slots
    assert " ".join(str(slot.duration) for slot in slots) == durations
    assert sum(slot.duration for slot in slots) == Meter.parse(meter).bar


def test_line_breaks_double_bars_and_remarks_are_free() -> None:
    chart = "# head | C\n| C || F#m |   # G | A\n\n|| Bb\n Eb ||\n"
    assert times(chart) == [
        [("C", "1")],
        [("F#m", "1")],
        [("Bb", "1/2"), ("Eb", "1/2")],
    ]


def test_a_sharp_inside_a_symbol_begins_no_remark() -> None:
    assert times("| C# F#m7 | G7(b9, #11) |") == [
        [("C#", "1/2"), ("F#m7", "1/2")],
        [("G7(b9, #11)", "1")],
    ]


def test_a_repeat_takes_the_bar_before_also_over_lines_and_sections() -> None:
    made = build("", Settings(), [Section("A", "| C . . G |\n| % | %"), Section("B", "%")])
    first = made.bars[0].slots
    for bar in made.bars[1:]:
        assert [(s.chord, s.onset, s.duration) for s in bar.slots] == [
            (s.chord, s.onset, s.duration) for s in first
        ]
        assert bar.repeats


def test_no_chord_and_open_bars() -> None:
    kinds = [bar.slots[0].kind for bar in song("| N.C. | ? | C |").bars]
    assert kinds == [SlotKind.NONE, SlotKind.OPEN, SlotKind.CHORD]


@pytest.mark.parametrize(
    ("meter", "chart", "line", "column", "length", "found", "right"),
    [
        ("4/4", "| C . . . . |", 1, 11, 1, "bar 1 has 5 beats, too many for 4/4", "holds 4 beats"),
        ("4/4", "| G |\n| C . F |", 2, 3, 5, "bar 2 has 3 beats, too few", "holds 4 beats"),
        ("6/8", "| C . . |", 1, 7, 1, "3 beats, too many for 6/8", "dotted quarter"),
        ("2/2", "| C . . . |", 1, 7, 3, "4 beats, too many for 2/2", "half note"),
        ("4/4", "| C D E F G |", 1, 11, 1, "5 chords, too many for 4/4", "4 at most"),
        ("4/4", "| C |   | D |", 1, 6, 3, "empty", "N.C."),
        ("4/4", "| % | C |", 1, 3, 1, "it is the first", "write its chords out"),
        ("4/4", "| C | % D |", 1, 7, 1, "beside other signs", "alone"),
        ("4/4", "|: C | G :|", 1, 2, 1, "no repeat signs", "once more"),
        ("4/4", "| C | . D . . |", 1, 7, 1, "begins with a dot", "begin with a chord"),
        ("4/4", "| C (. D . |", 1, 5, 7, "not closed", "close it with )"),
        ("4/4", "| C . . D) |", 1, 10, 1, "not opened", "take it out"),
        ("4/4", "| C () . . |", 1, 5, 2, "empty", "(. D)"),
        ("4/4", "| C ((D E) F) . . |", 1, 6, 1, "inside a bracket", "one beat"),
        ("4/4", "| C | Dmin7x |\n", 1, 12, 1, "“x” is no part", "did you mean"),
        ("4/4", "| C | G7/H |", 1, 10, 1, "“H” is no part", "did you mean G7"),
    ],
)
def test_what_cannot_be_read_is_named_with_its_place_and_cure(
    meter: str, chart: str, line: int, column: int, length: int, found: str, right: str
) -> None:
    with pytest.raises(InputError) as caught:
        song(chart, meter)
    place = caught.value.place
    assert place is not None
    assert (place.line, place.column, place.length) == (line, column, length)
    assert found in caught.value.message
    assert right in caught.value.cure
    assert place.text == chart.split("\n")[line - 1]


def test_a_repeat_of_a_bar_of_another_length_is_refused_unless_one_chord_fills_it() -> None:
    meters = Settings(meter=Meter.of(3, 4))
    kept = build("", Settings(), [Section("A", "| C |"), Section("B", "| % |", meters)])
    assert kept.bars[1].slots[0].duration == Fraction(3, 4)
    with pytest.raises(ChartError, match="another length"):
        build("", Settings(), [Section("A", "| C G |"), Section("B", "| % |", meters)])


def test_a_typed_bar_is_read_as_it_would_stand() -> None:
    meter = Meter.of(4, 4)
    before = song("| Dm . . G |").bars[0]
    assert [slot.typed for slot in read_bar(" C . F#m . ", meter)] == ["C", "F#m"]
    assert [str(slot.duration) for slot in read_bar("%", meter, before)] == ["3/4", "1/4"]
    for text, column in (("C | D", 3), ("C # x", 3), ("", 1), ("C\nD", 3), ("# x", 1)):
        with pytest.raises(ChartError) as caught:
            read_bar(text, meter)
        assert caught.value.place is not None
        assert (caught.value.place.line - 1) * 2 + caught.value.place.column == column


@settings(deadline=None, max_examples=120)
@given(charts())
def test_a_written_chart_is_read_as_it_was_meant(chart: tuple[str, list[str]]) -> None:
    """The bars read are the bars written, in order, each filling its meter."""
    text, bars = chart
    assert [text[b.words[0][0] : b.words[-1][1]] for b in split(text)] == bars
    made = song(text)
    at = Fraction(0)
    for bar in made.bars:
        assert bar.start == at
        onset = Fraction(0)
        for slot in bar.slots:
            assert slot.onset == onset
            assert slot.duration > 0
            onset += slot.duration
        assert onset == bar.meter.bar
        at += onset


@settings(deadline=None, max_examples=300)
@given(
    st.text(alphabet="CFG#bm7 |.%?()N/♯°x\n\t", max_size=200) | st.text(max_size=200),
    st.sampled_from(("4/4", "2/2", "6/8", "7/8", "5/4")),
)
def test_no_text_raises_anything_but_the_projects_errors(text: str, meter: str) -> None:
    def read() -> None:
        song(text, meter)
        read_bar(text, Meter.parse(meter))

    error = complaint(read)
    if error and error.place:
        assert error.message
        assert 1 <= error.place.line <= text.count("\n") + 1
        assert 1 <= error.place.column <= len(error.place.text) + 1
