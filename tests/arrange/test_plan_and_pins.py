"""The arc, pinned shapes, and figures and shapes that cannot be read."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from engine.arrange import arrange, check_song, song_troubles
from engine.errors import FigureError
from engine.harmony import analyse
from engine.key import Key
from engine.part import Part, Shape
from engine.song import BarSettings, Hand, Section, Settings, Song, build, set_bar_option

CHART = "| C | G/B | Am | Em/G | F | C/E | Dm7 | G7 |"


def _song(chart: str = CHART, section: Section | None = None) -> Song:
    settings = Settings(key=Key.parse("C major"), busy=0.0, outside=0.0, doubling=0.0,
                        anticipation=0.0)  # fmt: skip
    return build("Plan", settings, [replace(section or Section("A", chart), chart=chart)])


def _part(song: Song) -> Part:
    return arrange(song, analyse(song))


def test_a_written_arc_rises_and_falls_between_its_marks() -> None:
    section = Section("A", CHART, Settings(arc="p < f > mp"), peak=6)
    part = _part(_song(section=section))
    heights = part.heights
    assert max(heights) == heights[5]
    assert all(a < b for a, b in pairwise(heights[:6]))
    assert all(a > b for a, b in pairwise(heights[5:]))
    assert [mark.mark for mark in part.dynamics] == ["p", "<", "f", ">", "mp"]
    loud = {bar: max(n.velocity for n in part.notes if n.bar == bar) for bar in (1, 6, 8)}
    assert loud[1] < loud[8] < loud[6]


def test_without_an_arc_the_peak_is_on_the_most_expressive_harmony_of_the_middle() -> None:
    part = _part(_song("| C | Am | F | G | C | Fm | Dm7 | G7 | C | F | G7 | C |"))
    assert part.heights.index(max(part.heights)) == 5


def _shape(part: Part, bar: int) -> Shape:
    return next(shape for shape in part.shapes if shape.bar == bar)


@pytest.mark.parametrize(
    ("text", "lowest", "top"),
    [
        ("E4 G4 C5", "E4", "C5"),
        ("second inversion", "G", ""),
        ("first inversion", "E", ""),
        ("top E5", "", "E5"),
        ("top G", "", "G"),
        ("root position, bass C3", "C", ""),
    ],
)
def test_a_pin_is_hard_and_the_rest_adapts(text: str, lowest: str, top: str) -> None:
    song = set_bar_option(_song("| F | C | G |"), 2, "shape", text)
    part = _part(song)
    shape = _shape(part, 2)
    assert shape.pitches[0].name.startswith(lowest)
    assert shape.pitches[-1].name.startswith(top)
    if "bass" in text:
        bass = min(n.pitch.midi for n in part.notes if n.bar == 2 and n.hand is Hand.LEFT)
        assert bass == 48
    for other in (1, 3):
        gap = abs(_shape(part, other).pitches[-1].midi - shape.pitches[-1].midi)
        assert gap <= 7


def test_chords_of_a_bar_are_pinned_apart() -> None:
    song = set_bar_option(_song("| C F | G |"), 1, "shape", "G3 C4 E4 | A3 C4 F4")
    names = [[p.name for p in shape.pitches] for shape in _part(song).shapes if shape.bar == 1]
    assert names == [["G3", "C4", "E4"], ["A3", "C4", "F4"]]


def test_a_text_that_cannot_be_read_is_told_with_whose_it_is() -> None:
    section = Section(
        "Verse",
        CHART,
        Settings(left="R 5 q"),
        ((3, BarSettings(Settings(right="1 R"), shape="C4 H9")),),
    )
    song = _song(section=section)
    troubles = [(t.section, t.bar, t.field) for t in song_troubles(song)]
    assert troubles == [(0, None, "left"), (0, 3, "right"), (0, 3, "shape")]
    shape = song_troubles(song)[2].error
    assert shape.place is not None
    assert shape.place.column == 4
    with pytest.raises(FigureError, match=r"left of section “Verse”: “q”"):
        check_song(song)
    with pytest.raises(FigureError):
        _part(song)


def test_the_named_basses_of_a_figure_are_counted_from_the_sounding_bass() -> None:
    """R 5 10 is E C G over C/E and G E C over C/G; R 5 3 5 is D G F G over G7/D."""
    for chord, tokens, names in (
        ("C/E", "R 5 10", "E C G"),
        ("C/G", "R 5 10", "G E C"),
        ("G7/D", "R 5 3 5", "D G F G"),
    ):
        section = Section("A", "", Settings(left=tokens, right="x"))
        part = _part(_song(f"| {chord} |", section=section))
        found = [n.pitch.note.name for n in part.notes if n.hand is Hand.LEFT]
        assert found[: len(tokens.split())] == names.split()
