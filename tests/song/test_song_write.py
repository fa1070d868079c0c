"""The song file, written: what changed is changed, and everything else stays as it was."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.key import Key
from engine.meter import Meter
from engine.song import (
    SONG,
    BarSettings,
    Scope,
    Section,
    Settings,
    Song,
    add_section,
    build,
    delete_section,
    insert_bars,
    move_section,
    read_song,
    rename_section,
    set_bar,
    set_bar_option,
    set_setting,
    write_song,
)
from tests.song.song_strategies import charts

TEXT = '''\
# A song, with remarks.
format = 1
title = "Nightboat"   # working title
key = "Ab"            # four flats
tempo = 72

# The first part
[[section]]
  name = 'Verse'
  chart = """
| Ab | Eb/G | Fm . . Eb | Db |   # walks down
| %  | Bbm7 Eb7 | N.C. | ? |
"""
  right = "1 2 3 2"  # plain

# third bar: a turn
[section.bar.3]
right = "1 2 3 n"

# The end
[[section]]
name = "Coda"
chart = "| Fm | C7 | Fm |" # short

# that was all
'''


def changed(text: str, new: Song) -> list[str]:
    """The lines by which the new text differs: - gone, + come."""
    written = write_song(new, text)
    assert read_song(written) == new
    before, after = Counter(text.split("\n")), Counter(written.split("\n"))
    gone = [f"-{line}" for line in (before - after).elements()]
    come = [f"+{line}" for line in (after - before).elements()]
    return gone + come


def test_nothing_changed_is_byte_for_byte_the_same() -> None:
    assert write_song(read_song(TEXT), TEXT) == TEXT
    windows = TEXT.replace("\n", "\r\n")
    assert write_song(read_song(windows), windows) == windows


@pytest.mark.parametrize(
    ("scope", "name", "value", "lines"),
    [
        (SONG, "tempo", 80, ["-tempo = 72", "+tempo = 80"]),
        (SONG, "tempo", 62.5, ["-tempo = 72", "+tempo = 62.5"]),
        (
            SONG, "key", "Eb major",
            ['-key = "Ab"            # four flats', '+key = "Eb major"            # four flats'],
        ),
        (
            SONG, "title", "Night Ferry",
            ['-title = "Nightboat"   # working title', '+title = "Night Ferry"   # working title'],
        ),
        (SONG, "reach", "tenth", ['+reach = "tenth"']),
        (SONG, "reach", 15, ["+reach = 15"]),
        (SONG, "meter", "4/4", []),
        (SONG, "composer", "Ö. \"Q\" \\ Z", ['+composer = "Ö. \\"Q\\" \\\\ Z"']),
        (Scope(section=0), "right", "1 3 2 3", [
            '-  right = "1 2 3 2"  # plain', '+  right = "1 3 2 3"  # plain']),
        (Scope(section=0), "right", None, ['-  right = "1 2 3 2"  # plain']),
        (Scope(section=1), "busy", 0.25, ["+busy = 0.25"]),
        (Scope(section=0), "name", "Ver'se", ["-  name = 'Verse'", "+  name = \"Ver'se\""]),
        (Scope(bar=3), "left", "R . . .", ['+left = "R . . ."']),
        (Scope(bar=3), "right", "x", ['-right = "1 2 3 n"', '+right = "x"']),
        (Scope(bar=11), "shape", "F3 Ab3 C4", ["+", "+[section.bar.3]", '+shape = "F3 Ab3 C4"']),
    ],
)  # fmt: skip
def test_only_the_line_of_a_setting_changes(
    scope: Scope, name: str, value: object, lines: list[str]
) -> None:
    assert sorted(changed(TEXT, set_setting(read_song(TEXT), scope, name, value))) == sorted(lines)


def test_a_bars_last_setting_takes_its_table_along_with_its_remark() -> None:
    song = set_setting(read_song(TEXT), Scope(bar=3), "right", None)
    assert [line for line in changed(TEXT, song) if line != "-"] == [
        "-# third bar: a turn", "-[section.bar.3]", '-right = "1 2 3 n"',
    ]  # fmt: skip


def test_one_bars_edit_splices_the_chart() -> None:
    assert changed(TEXT, set_bar(read_song(TEXT), 2, "Eb")) == [
        "-| Ab | Eb/G | Fm . . Eb | Db |   # walks down",
        "+| Ab | Eb   | Fm . . Eb | Db |   # walks down",
    ]


def test_settings_of_bars_keep_their_table_when_bars_are_put_in_before() -> None:
    assert changed(TEXT, insert_bars(read_song(TEXT), 2, ["Cm"])) == [
        "-| Ab | Eb/G | Fm . . Eb | Db |   # walks down",
        "-[section.bar.3]",
        "+| Ab | Cm | Eb/G | Fm . . Eb | Db |   # walks down",
        "+[section.bar.4]",
    ]


def test_sections_move_with_their_remarks() -> None:
    moved = write_song(move_section(read_song(TEXT), 1, 0), TEXT)
    assert moved.index("# The end") < moved.index('name = "Coda"') < moved.index("# The first part")
    assert moved.index("# The first part") < moved.index("# third bar: a turn")
    back = write_song(move_section(read_song(moved), 1, 0), moved)
    assert read_song(back).sections == read_song(TEXT).sections
    gone = write_song(delete_section(read_song(TEXT), 0), TEXT)
    assert "# The first part" not in gone
    assert "# The end\n[[section]]\n" in gone
    named = changed(TEXT, rename_section(read_song(TEXT), 1, "Ending"))
    assert named == ['-name = "Coda"', '+name = "Ending"']
    more = write_song(add_section(read_song(TEXT), 1, Section("Bridge", "| Db |")), TEXT)
    assert '\n[[section]]\nname = "Bridge"\nchart = "| Db |"\n\n# The end\n' in more


def test_escapes_and_line_ends_of_what_is_not_touched_stay() -> None:
    text = 'format = 1\n[[section]]\nchart = "| \\u0043 |\\tG |"\nmelody = """A \\\n   B"""\n'
    written = write_song(set_bar(read_song(text), 2, "D"), text)
    assert 'chart = "| \\u0043 |\\tD |"\n' in written
    assert 'melody = """A \\\n   B"""\n' in written
    windows = TEXT.replace("\n", "\r\n")
    new = write_song(set_bar(read_song(windows), 1, "C"), windows)
    assert new.count("\r\n") == new.count("\n")
    assert read_song(new).bars[0].slots[0].typed == "C"


def test_tables_written_inline_are_rewritten_when_a_line_does_not_do() -> None:
    text = "format = 1\nsection = [{ chart = 'C | D', bar = { 2 = { busy = 0.7 } } }]\n"
    song = read_song(text)
    one = set_setting(song, Scope(bar=2), "busy", 0.2)
    assert write_song(one, text) == text.replace("0.7", "0.2")
    more = set_setting(song, Scope(bar=1), "right", "1 2 3 2")
    assert read_song(write_song(more, text)) == more


def test_a_new_file_reads_as_the_song_and_as_toml() -> None:
    song = build(
        "Etude", Settings(key=Key.parse("F# minor"), meter=Meter.parse("3+2+2/8"), busy=0.25),
        [
            Section(
                "A", "| F#m | C# |\n", Settings(arc="p < f"), ((2, BarSettings(shape="C#4 E#4")),),
                take=3, melody='F2 "x" A\\B\n', peak=2,
            )
        ],
        reach=15, take=2, composer="Me", rights="mine",
    )  # fmt: skip
    text = write_song(song)
    assert read_song(text) == song
    assert tomlkit.parse(text).unwrap()["section"][0]["bar"]["2"]["shape"] == "C#4 E#4"
    assert write_song(read_song(text), text) == text


# Random songs, random layouts, random edits.

texts = st.text(max_size=12)
melodies = st.sampled_from(["", "C2 D2|\n^F4\n", '"a \\ b" c', "% só\n\tz"])
amounts = st.none() | st.integers(0, 100).map(lambda n: n / 100)
everywhere = st.builds(
    Settings,
    key=st.none() | st.sampled_from(["Ab major", "F# minor", "D dorian"]).map(Key.parse),
    tempo=st.none() | st.sampled_from([60, 72.5, 120]),
    right=st.none() | st.sampled_from(["1 2 3 2", "arch", 'a "b" \\ c']),
    arc=st.none() | st.sampled_from(["p < mf", "mf"]),
    busy=amounts,
)
own = st.builds(
    BarSettings,
    settings=everywhere,
    shape=st.none() | st.just("C4 E4"),
    keep=st.none() | st.lists(st.sampled_from(["1 2", "R ."]), max_size=2).map(tuple),
    waive=st.lists(st.tuples(st.sampled_from("abc"), texts), max_size=2, unique_by=lambda x: x[0])
    .map(sorted)
    .map(tuple),
)


@st.composite
def sections(draw: st.DrawFn) -> Section:
    text, bars = draw(charts(most=5))
    bar_settings = draw(st.dictionaries(st.integers(1, len(bars)), own, max_size=3))
    in_order = tuple((number, bar_settings[number]) for number in sorted(bar_settings))
    return Section(
        draw(texts), text, draw(everywhere), in_order,
        take=draw(st.none() | st.integers(1, 9)), melody=draw(st.none() | melodies),
        peak=draw(st.none() | st.integers(1, len(bars))),
    )  # fmt: skip


@st.composite
def songs(draw: st.DrawFn) -> Song:
    return build(
        draw(texts), draw(everywhere), draw(st.lists(sections(), min_size=1, max_size=3)),
        reach=draw(st.integers(7, 24)), take=draw(st.integers(1, 9)), composer=draw(texts),
    )  # fmt: skip


@settings(deadline=None, max_examples=60)
@given(songs())
def test_reading_what_is_written_gives_the_song_back(song: Song) -> None:
    text = write_song(song)
    assert read_song(text) == song
    assert write_song(song, text) == text
    assert tomlkit.parse(text).unwrap()["title"] == song.title


@settings(deadline=None, max_examples=60)
@given(songs(), songs())
def test_any_song_written_over_any_file_is_that_song(old: Song, new: Song) -> None:
    assert read_song(write_song(new, write_song(old))) == new


@settings(deadline=None, max_examples=80)
@given(songs(), st.data())
def test_an_edit_leaves_every_other_line_of_the_file(song: Song, data: st.DataObject) -> None:
    """Remarks set between all lines of a file are all still there after an edit of a setting."""
    lines = write_song(song).split("\n")
    inside = False
    marked: list[str] = []
    for number, line in enumerate(lines):
        if not inside:
            marked.append(f"# remark {number}")
        marked.append(line)
        inside ^= line.count('"""') % 2 == 1
    text = "\n".join(marked)
    assert read_song(text) == song
    bar = data.draw(st.integers(1, len(song.bars)))
    edited = data.draw(
        st.sampled_from(
            [
                set_setting(song, SONG, "tempo", 99),
                set_setting(song, Scope(section=0), "busy", 0.11),
                set_setting(song, Scope(bar=bar), "left", "R . . ."),
                set_bar_option(song, bar, "shape", "A3 C4"),
                replace(song, title="Another"),
            ]
        )
    )
    written = write_song(edited, text)
    assert read_song(written) == edited
    kept = [line for line in written.split("\n") if line.startswith("# remark")]
    assert kept == [line for line in marked if line.startswith("# remark")]
