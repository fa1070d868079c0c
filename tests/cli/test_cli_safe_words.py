"""What files and names hold never commands the terminal; options take their words in any case."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cli.command_line import CommandLine
from tui.cli.say import harmless

#: ECMA-48: C0 and C1 controls [S]; Unicode 15, UAX 9: explicit directional formatting [S].
COMMANDS = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")
SONG = """\
format = 1
title = "Boat\\u001b[2J\\u0007\\u202eevil\\u009b2J\\nbelow"
composer = "Me\\u001b]0;x\\u0007"
rights = "\\u2066mine\\u001b[31m"
key = "C major"

[[section]]
name = "Verse\\u001b[2J\\u0007\\n\\u202ex"
chart = "| C | Am | ? | G7 |"
melody = "c4 d4 | d4 d4 | e4 e4 | g4 g4 |\\nw: so\\u0007 lo\\u001b[2Jng a\\u202Ew ay"

[section.bar.1]
waive = { "low interval" = "\\u001b[2J as it is" }
"""


@pytest.fixture
def song(tmp_path: Path) -> Path:
    path = tmp_path / "boat\x1b[2J\x9b.toml"
    path.write_text(SONG, encoding="utf-8")
    return path


@pytest.mark.parametrize("as_json", [False, True])
@pytest.mark.parametrize("command", ["analyse", "key", "suggest", "arrange", "check"])
def test_no_text_of_a_song_commands_the_terminal(
    alberti: CommandLine, song: Path, command: str, as_json: bool
) -> None:
    found = alberti(command, song, *["--json"] * as_json)
    assert found.status in (0, 1)
    assert found.out
    assert not COMMANDS.search(found.out + found.err)
    if as_json:
        told = [json.loads(line) for line in found.out.splitlines()]
        assert all(each.get("file", str(song)) == str(song) for each in told)  # nothing is lost


def test_nor_does_a_song_that_is_printed(alberti: CommandLine, song: Path) -> None:
    found = alberti(song)
    assert found.status == 0
    assert "Boat␛[2J␇�evil�2J␊below" in found.out
    assert not COMMANDS.search(found.out + found.err)


@pytest.mark.parametrize("name", ["song.musicxml", "song.svg"])
def test_scores_have_names_on_one_line(
    alberti: CommandLine, song: Path, tmp_path: Path, name: str
) -> None:
    out = tmp_path / name
    assert alberti("render", song, "-o", out).status == 0
    assert not COMMANDS.search(out.read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", ["chart.txt", "lesson.md"])
def test_sheets_have_names_on_one_line(
    alberti: CommandLine, song: Path, tmp_path: Path, name: str
) -> None:
    out = tmp_path / name
    assert alberti("lesson", song, "-o", out).status == 0
    text = out.read_text(encoding="utf-8")
    assert not COMMANDS.search(text)
    assert "2J evil 2J below" in text


def test_a_fault_of_an_option_is_shown_safely(alberti: CommandLine, song: Path) -> None:
    found = alberti("check", song, "--no\x1b[2J")
    assert found.status == 2
    assert "--no␛[2J" in found.err
    assert not COMMANDS.search(found.err)


@settings(deadline=None)
@given(st.text())
def test_safe_text_has_its_lines_and_columns_and_nothing_that_commands(text: str) -> None:
    shown = harmless(text)
    assert not COMMANDS.search(shown)
    assert len(shown) == len(text)
    assert shown.count("\n") == text.count("\n")


def test_words_of_options_are_taken_in_small_letters_and_capitals(
    alberti: CommandLine, tmp_path: Path
) -> None:
    song = tmp_path / "song.toml"
    song.write_text('format = 1\n[[section]]\nchart = "| C | G |"\n', encoding="utf-8")
    for words in (
        ("render", song, "--paper", "letter", "--hands", "LEFT", "-o", tmp_path / "a.pdf"),
        ("lesson", song, "--paper", "a4", "--sheet", "Chart", "-o", tmp_path / "b.pdf"),
        ("play", song, "--sound", "None", "--bars", "1", "--tempo", "400", "--hands", "Right"),
        ("figure", "--notes", "C4 E4", "--chord", "C", "--hand", "Right"),
    ):
        found = alberti(*words)
        assert (found.status, found.err) == (0, "")
    found = alberti("render", song, "--paper", "A3", "-o", tmp_path / "c.pdf")
    assert found.status == 2
    assert "'A4', 'Letter'" in found.err


@pytest.mark.parametrize(
    ("name", "kind"),
    [("x.mid", "MIDI"), ("x.MXL", "score"), ("x.pdf", "score"), ("x.wav", "sound")],
)
def test_a_song_is_not_written_under_the_name_of_another_kind_of_file(
    alberti: CommandLine, tmp_path: Path, name: str, kind: str
) -> None:
    song, page = tmp_path / "song.toml", tmp_path / "page.txt"
    page.write_text("| C | G |\n", encoding="utf-8")
    assert alberti("import", page, "-o", song).status == 0
    for words in (["import", page], ["transpose", song, "--to", "D"]):
        found = alberti(*words, "-o", tmp_path / name)
        assert found.status == 2
        assert f"has the ending of a {kind} file" in found.err
        assert "end its name in .toml" in found.err
    assert not (tmp_path / name).exists()


@pytest.mark.parametrize(
    ("command", "name", "says"),
    [
        ("render", "x.txt", "is the name of a sheet (chart), and render writes scores"),
        ("render", "x.md", "x.md' writes it"),
        ("render", "x.toml", "nothing is known of files ending in “.toml”"),
        ("render", "x", "has no ending"),
        ("lesson", "x.mid", "a lesson sheet is not written as “.mid”"),
        ("lesson", "x.mid", "“alberti render” writes scores and sound"),
    ],
)
def test_the_other_outputs_say_what_they_can_be(
    alberti: CommandLine, tmp_path: Path, command: str, name: str, says: str
) -> None:
    song = tmp_path / "song.toml"
    song.write_text('format = 1\n[[section]]\nchart = "| C | G |"\n', encoding="utf-8")
    found = alberti(command, song, "-o", tmp_path / name)
    assert found.status == 2
    assert says in found.err
    assert not (tmp_path / name).exists()


def test_names_of_notes_may_stand_in_small_letters(alberti: CommandLine, tmp_path: Path) -> None:
    song = tmp_path / "song.toml"
    song.write_text(
        'format = 1\nkey = "Ab major"\n[[section]]\nchart = "| Ab |"\nmelody = "A4 c4"\n', "utf-8"
    )
    for small, large in (
        (("transpose", song, "--to", "f#"), ("transpose", song, "--to", "F#")),
        (("transpose", song, "--to", "bb"), ("transpose", song, "--to", "Bb")),
        (("transpose", song, "--voice", "bb3-d5"), ("transpose", song, "--voice", "Bb3 – D5")),
        (("figure", "--chord", "C", "--notes", "c4 e4"),
         ("figure", "--chord", "C", "--notes", "C4 E4")),
    ):  # fmt: skip
        assert alberti(*small) == alberti(*large)
        assert alberti(*large).status == 0
