"""The song file, read: what may stand in it, and where each error is said to be."""

from __future__ import annotations

import tomllib
from functools import partial
from pathlib import Path

import pytest
import tomlkit
from hypothesis import example, given, settings
from hypothesis import strategies as st

from engine.errors import FigureError, InputError, Place
from engine.figures import find_figure
from engine.song import DEFAULTS, Hand, load_song, locate, read_song
from engine.song.places import letters, spots
from tests.song.song_strategies import complaint

SONG = '''\
# One song.
format = 1
title = "Nightboat"
key = "Ab major"
meter = "4/4"
tempo = 72  # slow
reach = "octave"

[[section]]
name = "Verse"
chart = """
| Ab | Eb/G | Fm . . Eb | Db |   # a remark
| %  | Bbm7 Eb7 | N.C. | ? |
"""
right = "1 2 3 2"
arc = "p < mf > p"
busy = 0.5
peak = 6

[section.bar.3]
right = "1 2 3 n"
waive = { "low interval" = "it is meant to growl" }

[[section]]
name = "Coda"
key = "F minor"
chart = "| Fm | C7 | Fm |"
tempo = 60
'''


def test_the_nearest_setting_wins_and_the_rest_is_filled_in() -> None:
    song = read_song(SONG, "nightboat.toml")
    third, ninth = song.bars[2], song.bars[8]
    assert (third.settings.right, third.settings.busy, third.tempo) == ("1 2 3 n", 0.5, 72)
    assert song.bars[3].settings.right == "1 2 3 2"
    assert (ninth.key.name, ninth.tempo, ninth.settings.right) == ("F minor", 60, None)
    assert third.own.waive == (("low interval", "it is meant to growl"),)
    assert song.sections[0].peak == 6
    assert [bar.section for bar in song.bars] == [0] * 8 + [1] * 3
    assert song.file == "nightboat.toml"


def test_what_is_not_written_has_its_default() -> None:
    bar = read_song('format = 1\n[[section]]\nchart = "C"').bars[0]
    assert bar.settings == DEFAULTS
    assert (bar.key.name, bar.meter.name, bar.tempo) == ("C major", "4/4", 76)
    assert (bar.settings.busy, bar.settings.outside) == (0.4, 0.3)
    assert (bar.settings.doubling, bar.settings.anticipation) == (0.3, 0.2)


@pytest.mark.parametrize(
    ("written", "semitones"), [('"octave"', 12), ('"ninth"', 14), ('"tenth"', 16), ("15", 15)]
)
def test_reach_by_name_or_semitones(written: str, semitones: int) -> None:
    assert read_song(SONG.replace('"octave"', written)).reach == semitones


# Each case: what of the song is replaced, by what, and then line, column, length, what was found,
# what would be right.
CASES: list[tuple[str, str, int, int, int, str, str]] = [
    # chords and bars, in a chart of several lines
    ("Bbm7 Eb7", "Bbm7 Hb7", 13, 13, 1, "“Hb7” does not begin with a root", "A to G"),
    ("Bbm7 Eb7", "Bbm7 Ebja7", 13, 15, 3, "“ja7” is no part of a chord symbol", "did you mean Eb"),
    ("Fm . . Eb", "Fm . . . Eb", 12, 24, 2, "bar 3 has 5 beats, too many", "holds 4 beats"),
    ("Fm . . Eb", "Fm . Eb", 12, 15, 7, "bar 3 has 3 beats, too few", "holds 4 beats"),
    ("| Ab | Eb/G", "| % | Eb/G", 12, 3, 1, "it is the first", "write its chords out"),
    ("| N.C. |", "|  |", 13, 18, 2, "this bar is empty", "N.C."),
    # … and in one on a single line
    ("| Fm | C7 | Fm |", "| Fm | C7x | Fm |", 27, 19, 1, "“x” is no part", "did you mean C7"),
    ("| Fm | C7 | Fm |", "| Fm | C . |", 27, 17, 3, "bar 10 has 2 beats", "holds 4 beats"),
    ('"| Fm | C7 | Fm |"', "'| Fm | C7x |'", 27, 19, 1, "“x”", "C7"),
    ('"| Fm | C7 | Fm |"', "'''\n| Fm |\n| C7x |'''", 29, 5, 1, "“x”", "C7"),
    ('"| Fm | C7 | Fm |"', '"| F\\u006d | C7x |"', 27, 24, 1, "“x”", "C7"),
    ('"| Fm | C7 | Fm |"', '"| Fm |\\n| C7x |"', 27, 22, 1, "“x”", "C7"),
    ('"| Fm | C7 | Fm |"', '"""| Fm \\\n   | C7x |"""', 28, 8, 1, "“x”", "C7"),
    ('chart = "| Fm | C7 | Fm |"', 'chart = ""', 27, 10, 1, "section “Coda” has no bars", "| C"),
    # fields
    ("busy = 0.5", "bussy = 0.5", 17, 1, 5, "no field “bussy”", "did you mean busy?"),
    ("reach =", "raech =", 7, 1, 5, "no field “raech”", "did you mean reach?"),
    ('right = "1 2 3 n"', 'rihgt = "1 2"', 21, 1, 5, "no field “rihgt”", "did you mean right?"),
    ("busy = 0.5", "busy = 1.5", 17, 8, 3, "busy is 1.5", "from 0 to 1"),
    ("busy = 0.5", "busy = -0.1", 17, 8, 4, "busy is -0.1", "from 0 to 1"),
    ("busy = 0.5", "busy = true", 17, 8, 4, "busy is true", "from 0 to 1"),
    ("busy = 0.5", "busy = nan", 17, 8, 3, "busy is nan", "from 0 to 1"),
    ("tempo = 72", 'tempo = "fast"', 6, 10, 4, "tempo is “fast”", "beats a minute"),
    ("tempo = 72", "tempo = 0", 6, 9, 1, "tempo is 0", "10 to 400"),
    ("tempo = 72", "tempo = inf", 6, 9, 3, "tempo is inf", "10 to 400"),
    ('"Ab major"', '"H major"', 4, 8, 7, "“H major” is not a key", "Ab major"),
    ('"Ab major"', '"G# major"', 4, 8, 8, "8 accidentals", "write Ab major"),
    ('"Ab major"', "4", 4, 7, 1, "key is 4", "a note and a mode"),
    ('"4/4"', '"4/5"', 5, 10, 3, "“4/5” is not a meter", "6/8"),
    ('"4/4"', "4", 5, 9, 1, "meter is 4", "a meter, like"),
    ('"octave"', '"twelfth"', 7, 10, 7, "reach is “twelfth”", "octave"),
    ('"octave"', "30", 7, 9, 2, "reach is 30", "7 to 24"),
    ('"p < mf > p"', '"p < loud > p"', 16, 12, 4, "arc is “p < loud > p”", "dynamic marks"),
    ('"p < mf > p"', '"p > mf"', 16, 12, 2, "the arc goes p > mf", "> to a softer"),
    ('"p < mf > p"', '"p <"', 16, 10, 1, "arc is “p <”", "dynamic marks"),
    ('"1 2 3 2"', "[1, 2]", 15, 9, 6, "right is a list", "a figure as text"),
    ('name = "Verse"', "name = 3", 10, 8, 1, "name is 3", "in quotes"),
    ("[section.bar.3]", "[section.bar.9]", 20, 14, 1, "has no bar 9", "1 to 8"),
    ("[section.bar.3]", "[section.bar.0]", 20, 14, 1, "“0” is no bar", "from 1"),
    ("[section.bar.3]", "[section.bar.x]", 20, 14, 1, "“x” is no bar", "[section.bar.3]"),
    ("peak = 6", "peak = 9", 18, 8, 1, "has no bar 9", "1 to 8"),
    ('{ "low interval" = "it is meant to growl" }', "4", 22, 9, 1, "waive is 4", "the reason"),
    ('chart = "| Fm', 'cart = "| Fm', 27, 1, 4, "no field “cart”", "did you mean chart?"),
    ("[[section]]\nname = \"Coda\"", "[section]", 24, 0, 0, "", ""),
    # a melody
    ("tempo = 60", 'melody = """\nA2 B2 |\nc2 ; d2"""', 30, 4, 1, "“;” is no part", "C D2"),
    ("tempo = 60", "melody = 60", 28, 10, 2, "melody is 60", "ABC text"),
    # the file
    ("format = 1", "", 1, 1, 1, "the format line is missing", "format = 1"),
    ("format = 1", "format = 2", 2, 10, 1, "format is 2", "format = 1"),
    ("format = 1", 'format = "1"', 2, 11, 1, "format is “1”", "format = 1"),
    ('title = "Nightboat"', "title = Nightboat", 3, 9, 1, "cannot be read", "quotes"),
    ('title = "Nightboat"', 'title = "Nightboat', 3, 19, 1, "cannot be read", "quotes"),
    ('title = "Nightboat"', 'format = 1', 3, 1, 10, "said before", "keep one"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "line", "column", "length", "found", "right"), CASES)
def test_every_error_has_its_place_what_was_found_and_what_is_right(
    old: str, new: str, line: int, column: int, length: int, found: str, right: str
) -> None:
    assert SONG.count(old) == 1 or old == "format = 1"
    text = SONG.replace(old, new, 1)
    with pytest.raises(InputError) as caught:
        read_song(text, "nightboat.toml")
    place = caught.value.place
    assert place is not None
    assert place.file == "nightboat.toml"
    assert found in caught.value.message
    assert right in caught.value.cure
    if column:
        assert (place.line, place.column, place.length) == (line, column, length)
    assert place.text == text.split("\n")[place.line - 1]
    assert f"nightboat.toml:{place.line}:{place.column}: " in str(caught.value)


def test_windows_line_ends_leave_places_right() -> None:
    text = SONG.replace("Bbm7 Eb7", "Bbm7 Hb7").replace("\n", "\r\n")
    with pytest.raises(InputError) as caught:
        read_song(text)
    place = caught.value.place
    assert place is not None
    assert (place.line, place.column) == (13, 13)
    assert read_song(SONG.replace("\n", "\r\n")) == read_song(SONG)


def test_a_figure_found_wrong_later_is_located_in_the_file() -> None:
    """Figures are text at this floor; whoever reads them finds the place of theirs again."""
    text = SONG.replace('"1 2 3 n"', '"1 2 q n"')
    song = read_song(text)
    bar = song.bars[2]
    assert bar.settings.right is not None
    with pytest.raises(FigureError) as caught:
        find_figure(bar.settings.right, Hand.RIGHT)
    place = locate(text, bar.section, bar.in_section, "right", caught.value.place)
    assert (place.line, place.column) == (21, 14)
    assert place.text == 'right = "1 2 q n"'
    assert locate(text, 0, 4, "right").line == 15
    assert locate(text, None, None, "key").column == 8
    assert locate(text, 1, None, "left") == Place(1, 1, 1, "# One song.")


def test_files_that_are_none_say_so(tmp_path: Path) -> None:
    good = tmp_path / "nightboat.toml"
    good.write_text(SONG, encoding="utf-8")
    (tmp_path / "latin.toml").write_bytes(b'format = 1\ntitle = "Caf\xe9"\n')
    (tmp_path / "song.mid").write_bytes(b"MThd\x00\x00\x00\x06\x00\x01\x00\x02\x01\xe0MTrk")
    (tmp_path / "huge.toml").write_bytes(b"#" * (2**20 + 1))
    (tmp_path / "empty.toml").write_bytes(b"")
    assert load_song(good).title == "Nightboat"
    assert load_song(good).file == str(good)
    for name, line, column, found, right in (
        ("nightbat.toml", 1, 1, "no such file", "did you mean"),
        ("nightboat", 1, 1, "no such file", "nightboat.toml?"),
        ("another.toml", 1, 1, "no such file", "name a song file"),  # an ending is no likeness
        ("zzz/zzz.toml", 1, 1, "no such file", "name a song file"),
        ("latin.toml", 2, 13, "0xe9 is no part of a text in UTF-8", "save it as UTF-8"),
        ("song.mid", 1, 14, "0xe0 is no part", "alberti import"),
        ("huge.toml", 1, 1, "larger than a megabyte", "some kilobytes"),
        ("empty.toml", 1, 1, "the format line is missing", "format = 1"),
        (".", 1, 1, "this is a folder", "name a song file"),
        ("bad\0name.toml", 1, 1, "cannot be read", "may read"),
    ):
        with pytest.raises(InputError) as caught:
            load_song(tmp_path / name)
        place = caught.value.place
        assert place is not None
        assert (place.line, place.column) == (line, column), name
        assert place.file == str(tmp_path / name)
        assert found in caught.value.message
        assert right in caught.value.cure


def test_sections_are_asked_for() -> None:
    for text, found in (
        ("format = 1", "no section"),
        ("format = 1\nsection = 3", "section is 3"),
        ("format = 1\n[section]\nchart = 'C'", "section is a table"),
        ("format = 1\n[[section]]\nname = 'A'", "no chart"),
        ("format = 1\n[[section]]\nchart = 'C'\nbar = 3", "bar is 3"),
        ("format = 1\n[[section]]\nchart = 'C'\nbar.1 = 3", "bar.1 is 3"),
        ("format = 1\n[[section]]\nchart = 'C'\n[section.bar.1]\nkeep = 3", "keep is 3"),
        ("format = 1\n[[section]]\nchart = 'C'\n[section.bar.1]\nwaive = { a = 3 }", "waive is a"),
        ("format = 1\nx = " + "[" * 5000 + "]" * 5000, ""),
    ):
        error = complaint(partial(read_song, text, "x.toml"))
        assert error is not None
        assert error.place is not None
        assert found in error.message


def test_all_ways_to_write_a_bar_in_toml_are_read_and_located() -> None:
    head = "format = 1\n[[section]]\nchart = 'C | D'\n"
    for rest in (
        "[section.bar.2]\nbusy = 7",
        "bar.2.busy = 7",
        '"bar".2."busy" = 7',
        "bar = { 2 = { busy = 7 } }",
        "bar.2 = { right = 'x', busy = 7 }",
    ):
        error = complaint(partial(read_song, head + rest))
        assert error is not None
        assert error.place is not None
        assert error.message == "busy is 7"
        start = error.place.column - 1
        assert error.place.text[start : start + error.place.length] == "7"
        assert read_song(head + rest.replace("7", "0.7")).bars[1].settings.busy == 0.7


@settings(deadline=None, max_examples=60)
@example("\r\na\r\nb", '"""')
@given(st.text(max_size=30), st.sampled_from(('"', '"""', "'''")))
def test_the_places_of_a_strings_letters_are_those_that_hold_them(text: str, quote: str) -> None:
    """Checked against tomlkit, which writes the strings."""
    multi = len(quote) == 3
    if quote == "'''" and ("'" in text or any(ord(c) < 32 or ord(c) == 127 for c in text)):
        text = "a b"
    item = tomlkit.string(text, literal=quote == "'''", multiline=multi)
    source = f"x = {item.as_string()}\n"
    spot = spots(source)["x",]
    plain = [at for at in letters(source, spot)[:-1] if source[at] != "\\"]
    held = tomllib.loads(source)["x"]
    assert len(letters(source, spot)) == len(held) + 1
    assert ["\n" if source.startswith("\r\n", at) else source[at] for at in plain] == [
        c for c, at in zip(held, letters(source, spot), strict=False) if source[at] != "\\"
    ]


@settings(deadline=None, max_examples=150)
@given(st.data())
def test_a_damaged_file_raises_nothing_but_the_projects_errors(data: st.DataObject) -> None:
    """Any stretch of a good file replaced by anything: it is read, or refused with a place."""
    start = data.draw(st.integers(0, len(SONG)))
    end = data.draw(st.integers(start, min(len(SONG), start + 60)))
    text = SONG[:start] + data.draw(st.text(max_size=20)) + SONG[end:]
    error = complaint(lambda: read_song(text, "nightboat.toml"))
    if error is not None:
        assert error.place is not None
        assert error.place.file == "nightboat.toml"
        assert 1 <= error.place.line <= text.count("\n") + 1
