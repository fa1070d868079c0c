"""The chord pane shows each chord whole at 80×24: nothing is cut, whatever the chord.

The songs of the corpus are those of the McGill Billboard annotations where they lie beside the
repository (Burgoyne, Wild & Fujinaga, ISMIR 2011), else a small invented sample.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from engine.harmony import ChordReading, analyse
from engine.song import SlotKind, Song, load_song, read_song
from engine.workshop import Cursor, Pane, Stages, Work, open_work, stages
from tests.training.training_songs import rows, song_of
from tests.tui.desk_helpers import SONG, work_on
from tui.layout import is_roomy, places
from tui.view import View
from tui.widgets.about import about, degree_names
from tui.widgets.chord import draw_chord, role_words

SONGS = sorted((Path(__file__).parents[2] / "shared" / "songs").glob("*.toml"))
SMALL = places(80, 24, Pane.CHART, 10).panes[Pane.CHORD]
_LABELLED = re.compile(r" (keeps +[A-G]|moves .*→|shape|scale)")
_EVERY = 4  # one song of the corpus in so many

# Applied and borrowed chords, sixths, substitutes, pedal points, lines, slash basses, modes.
CHARTS = [
    ("C major", "| C | C#dim7 | Dm7 | Ebdim7 | Em7 A7 | Dm7b5 G7 | C6 | Am7/C |"),
    ("C major", "| C7 | F7 | C7 | G7alt | C | C/Bb | A7/C# | Dm |"),
    ("C major", "| C | Ab7 G | C | Db7 C | D7 Db7 | C | F/G | C |"),
    ("C minor", "| Cm | Db/F | Cm/G G7 | Ab | Fm6 | D7b5/Ab | G | Cm |"),
    ("A minor", "| Am | Am(maj7) | Am7 | Am6 | F | E7sus4 E7 | Am | N.C. |"),
    ("Ab major", "| Ab | Bbm7b5/Eb | Db7(#11) | Dbm6/Fb | Eb13 | Eb7(b9,b13) | Ab6/9 | Ab |"),
    ("D major", "| D | C13sus4 | C#m11(no5) | Gm7 |"),
    ("C# major", "| C# | G#7/B# | A#7 | D#m7 | E#7(#9) | A#m | G#9sus4 | C#maj9 |"),
    ("C major", "| C | F/C | G7/C | C | Bb | F | C5 | Csus2 |"),
    ("D dorian", "| Dm7 | G | Dm7 | Em7 |"), ("E phrygian", "| Em | F | Em | Dm7 |"),
    ("F lydian", "| Fmaj7 | G | Fmaj7(#11) | Em7 |"), ("G mixolydian", "| G | F | C | G |"),
    ("Gb major", "| Gb | Cb6 | Abm7b5 | Db7(b9) | Fbmaj7 | Ebb | Db11 | Gb |"),
]  # fmt: skip


def read(song: Song) -> Stages:
    """A song and its readings, without a part."""
    return Stages(song, analyse(song), None, None, ())


def pane(work: Work, made: Stages, reading: ChordReading, size: tuple[int, int]) -> list[str]:
    """The rows of the pane with the cursor on a chord, without its rule."""
    at = replace(work, cursor=Cursor(reading.bar, reading.slot))
    return draw_chord(View(at, made), *size).text().split("\n")[1:]


def missing(made: Stages, size: tuple[int, int], keys: int) -> list[str]:
    """What the pane leaves out of the chords of a song, and what it cuts."""
    found, work = [], open_work(made.song)
    assert made.reading is not None
    for reading in made.reading.chords:
        shown = pane(work, made, reading, size)[: size[1] - 1 - keys]
        text = " ".join(" ".join(shown).split())
        after = made.reading.after(reading)
        lines = about(reading, after, roomy=is_roomy(*size))
        # Better spellings are told in the sentence or in a line; other names where there is room.
        wanted = [told if label == "better" else f"{label} {told}" for label, told in lines
                  if label != "also"]  # fmt: skip
        if "+" in text:  # tight where the scale is long
            wanted = [one.replace(" +", "+") for one in wanted]
            text = text.replace(" +", "+")
        wanted += [note.symbol for note in reading.notes]
        wanted += [reading.chord.pretty, reading.roman_pretty.partition("(")[0]]
        wanted += [role_words(reading) if is_roomy(*size) else reading.function.value]
        if not is_roomy(*size):
            wanted += degree_names(reading).values()
        name = f"{made.song.title}, bar {reading.bar}, {reading.chord.symbol}"
        found += [f"{name}: {one}" for one in wanted if " ".join(one.split()) not in text]
        assert "…" not in text, (name, shown)
        foot = next(n for n, row in enumerate(shown) if _LABELLED.match(row))
        assert " ".join(shown[:foot]).rstrip().endswith("."), (name, shown)
    return found


@pytest.mark.parametrize("path", SONGS, ids=lambda path: path.stem)
def test_every_chord_of_the_demo_songs_is_shown_whole(path: Path) -> None:
    made = read(load_song(path))
    assert missing(made, SMALL, 2) == []


@pytest.mark.parametrize(("key", "chart"), CHARTS)
def test_chords_of_all_kinds_are_shown_whole(key: str, chart: str) -> None:
    made = read(read_song(SONG.format(chart=chart, key=key, meter="4/4")))
    assert missing(made, SMALL, 2) == []
    assert missing(made, (45, 15), 3) == []
    assert missing(made, (60, 17), 3) == []


def test_chords_of_popular_songs_are_shown_whole() -> None:
    """But for one in five hundred: altered chords of five notes in flat keys, all of which move."""
    songs = [read(song_of(row)) for row in rows()[::_EVERY]]
    left_out = [one for made in songs for one in missing(made, SMALL, 2)]
    count = sum(len(made.reading.chords) for made in songs if made.reading is not None)
    assert len(left_out) <= count // 500, left_out


def test_the_keyboard_strip_stands_under_it() -> None:
    work = work_on("| C | [A7/C#] | Dm |")
    strip = draw_chord(View(work, stages(work.song, None)), *SMALL).text().split("\n")[-2:]
    assert "●" in "".join(strip)
    assert "█" in strip[0]


def test_a_small_pane_under_the_hand_takes_the_rows_of_the_figure_pane() -> None:
    before, under = places(80, 24, Pane.CHART, 10), places(80, 24, Pane.CHORD, 10)
    assert before.panes[Pane.CHORD] == (29, 10)
    assert under.panes[Pane.CHORD] == (29, 21)
    assert Pane.FIGURE not in under.panes
    assert Pane.FIGURE in places(80, 24, Pane.CHORD, 10, stepping=True).panes
    assert Pane.FIGURE in places(120, 40, Pane.CHORD, 10).panes


@pytest.mark.parametrize(("key", "chart"), CHARTS)
def test_under_the_hand_a_small_pane_says_the_whole_explanation(key: str, chart: str) -> None:
    made = read(read_song(SONG.format(chart=chart, key=key, meter="4/4")))
    work, size = open_work(made.song), places(80, 24, Pane.CHORD, 10).panes[Pane.CHORD]
    assert made.reading is not None
    for reading in made.reading.chords:
        text = " ".join(" ".join(pane(work, made, reading, size)).split())
        assert reading.explanation in text


def test_places_without_a_chord_say_so() -> None:
    for chart, words in (("| C | [N.C.] |", "both hands rest"), ("| C | [?] |", "o offers")):
        work = work_on(chart)
        assert work.slot.kind in (SlotKind.NONE, SlotKind.OPEN)
        text = draw_chord(View(work, stages(work.song, None)), *SMALL).text()
        assert words in " ".join(text.split())
