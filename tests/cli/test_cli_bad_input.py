"""Bad input: every command names file, line, column, what was found and what would be right."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.command_line import CommandLine

SONG = """\
format = 1
title = "Nightboat"
key = "Ab major"

[[section]]
name = "Verse"
chart = \"\"\"
| Ab | Eb/G | Fm . . Eb | Db |
| ?  | Eb7  | Ab        |
\"\"\"
right = "1 2 3 2 1 2 3 2"
left = "R . 5 ."

[section.bar.2]
shape = "G3 Bb3 Eb4"
"""

#: Commands that read a song, with what else they need.
COMMANDS: list[list[str]] = [
    ["analyse"], ["analyse", "--json"], ["key"], ["suggest"], ["arrange"], ["arrange", "--json"],
    ["check"], ["transpose", "--to", "C"], ["render", "-o", "OUT.mid"], ["render", "-o", "OUT.wav"],
    ["lesson", "-o", "OUT.pdf"], ["play", "--sound", "none"], [],
]  # fmt: skip

#: What of the song is replaced, by what; then line, column, what was found, what would be right.
CASES: dict[str, tuple[str, str, int, int, str, str]] = {
    "an unknown chord": (
        "Eb7  |", "Ebja7 |", 9, 10, "“ja7” is no part of a chord symbol", "did you mean Eb",
    ),
    "a chord without a root": ("Eb7  |", "xyz  |", 9, 8, "“xyz” does not begin", "A to G"),
    "too many beats": (
        "Fm . . Eb", "Fm . . . Eb", 8, 24, "bar 3 has 5 beats, too many for 4/4", "holds 4 beats",
    ),
    "too few beats": (
        "Fm . . Eb", "Fm . Eb", 8, 15, "bar 3 has 3 beats, too few for 4/4", "holds 4 beats",
    ),
    "a bad figure token": ("1 2 3 2 1 2 3 2", "1 2 q 2", 11, 14, "q", ""),
    "a bad token of the left hand": ("R . 5 .", "R . z .", 12, 13, "z", ""),
    "a bad shape": ("G3 Bb3 Eb4", "G3 H3", 15, 13, "“H3” is no shape", "G3 C4 E4"),
    "a wrong format": ("format = 1", "format = 7", 1, 10, "format is 7", "format = 1"),
    "an unknown field": ("title", "titel", 2, 1, "no field “titel”", "did you mean title?"),
    "a bad key": ('"Ab major"', '"Ab mayor"', 3, 8, "“Ab mayor” is not a key", "Ab major"),
    "a field said twice": (
        'key = "Ab major"', 'title = "Dayboat"', 3, 1, "said before", "keep one of the two",
    ),
    "a bar said twice": (
        "[section.bar.2]", "[section.bar.2]\n[section.bar.2]", 15, 1, "said before", "keep one",
    ),
    "no TOML": ('"Nightboat"', "Nightboat", 2, 9, "cannot be read", "quotes"),
}  # fmt: skip


def run(alberti: CommandLine, command: list[str], path: Path, folder: Path) -> tuple[int, str]:
    words = [word.replace("OUT", str(folder / "out")) for word in command]
    found = alberti(*words[:1], path, *words[1:])
    assert not list(folder.glob("out*"))
    return found.status, found.err


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
@pytest.mark.parametrize("case", CASES)
def test_a_bad_song_is_refused_with_place_and_cure(
    alberti: CommandLine, tmp_path: Path, command: list[str], case: str
) -> None:
    old, new, line, column, found, right = CASES[case]
    assert SONG.count(old) == 1
    text = SONG.replace(old, new)
    path = tmp_path / "nightboat.toml"
    path.write_text(text, encoding="utf-8")
    status, complaint = run(alberti, command, path, tmp_path)
    assert status == 2
    heads = [row for row in complaint.splitlines() if row.startswith(f"{path}:")]
    assert len(heads) == 1
    assert heads[0].startswith(f"{path}:{line}:{column}: ")
    message, _, cure = heads[0].partition(": ")[2].partition("; ")
    assert found in message
    assert cure
    assert right in cure
    # The line of the file, and under it the marks where the fault stands.
    rows = complaint.splitlines()
    at = rows.index(heads[0])
    assert rows[at + 1] == "  " + text.split("\n")[line - 1]
    assert re.fullmatch(rf"  {' ' * (column - 1)}\^+", rows[at + 2])
    assert "Traceback" not in complaint
    assert path.read_text(encoding="utf-8") == text


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_a_file_that_is_no_song_is_refused(
    alberti: CommandLine, tmp_path: Path, command: list[str]
) -> None:
    (tmp_path / "nightboat.toml").write_text(SONG, encoding="utf-8")
    (tmp_path / "score.mid").write_bytes(b"MThd\x00\x00\x00\x06\x00\x01\x00\x02\x01\xe0")
    for name, place, found, right in (
        ("nightbat.toml", "1:1", "there is no such file", "did you mean"),
        ("score.mid", "1:14", "0xe0 is no part of a text", "alberti import"),
        (".", "1:1", "this is a folder", "name a song file"),
    ):
        path = tmp_path / name
        status, complaint = run(alberti, command, path, tmp_path)
        assert status == 2
        heads = [row for row in complaint.splitlines() if row.startswith(f"{path}:{place}: ")]
        assert len(heads) == 1, complaint
        assert found in heads[0]
        assert right in heads[0]


def test_one_bad_song_does_not_keep_the_others_from_being_read(
    alberti: CommandLine, tmp_path: Path
) -> None:
    good, bad = tmp_path / "good.toml", tmp_path / "bad.toml"
    good.write_text(SONG, encoding="utf-8")
    bad.write_text(SONG.replace("Db |", "Dq |"), encoding="utf-8")
    for name in ("analyse", "key"):
        found = alberti(name, "--json", good, bad, good)
        assert found.status == 2
        assert [record["file"] for record in found.records] == [str(good)] * 2
        assert f"{bad}:8:28: " in found.err


def test_standard_input_is_named_in_errors(alberti: CommandLine) -> None:
    found = alberti("analyse", "-", stdin=SONG.replace("Db |", "Dq |"))
    assert found.status == 2
    assert found.err.startswith("standard input:8:28: ")
    assert alberti("analyse", "-", stdin=b"\xff\xfe").status == 2


@pytest.mark.parametrize(
    ("arguments", "found", "right"),
    [
        (["chord", "--key", "H major", "C"], "“H major” is not a key", "Ab major"),
        (["suggest", "SONG", "--bar", "0"], "there is no bar 0", "bars are numbered from 1"),
        (["suggest", "SONG", "--bar", "999"], "there is no bar 999", "bars are numbered from 1"),
        (["suggest", "SONG", "--count", "0"], "0 suggestions is none", "--count 8"),
        (["suggest", "SONG", "--far", "2"], "--far 2 is no distance", "0 for near"),
        (["suggest", "SONG", "--bars", "9-3"], "there are no bars 9-3", "bars 1 to"),
        (["suggest", "SONG", "--bars", "all"], "is no stretch of bars", "5-8"),
        (["transpose", "SONG", "--to", "H"], "“H” is not a key", "Ab major"),
        (["transpose", "SONG", "--to", "C minor"], "would change its mode", "C major"),
        (["transpose", "SONG", "--by", "X3"], "“X3” is not an interval", "m3"),
        (["transpose", "SONG", "--voice", "high"], "“high” is not a range", "A3-D5"),
        (["transpose", "SONG", "--voice", "A3"], "“A3” is not a range", "A3-D5"),
        (["transpose", "SONG", "--voice", "A3-H5"], "“A3-H5” is not a range", "A3-D5"),
        (["transpose", "SONG", "--voice", "A3-A3"], "“A3-A3” is not a range", "A3-D5"),
        (["transpose", "SONG", "--voice", "D5-A3"], "“D5-A3” is not a range", "A3-D5"),
        (["transpose", "SONG"], "one of the arguments --to --by --voice is required", ""),
        (["transpose", "SONG", "--to", "C", "-o", "none/x"], "cannot be written", "folder"),
        (["arrange", "SONG", "--take", "x"], "--take", ""),
        (["arrange"], "SONG", ""),
        (["anlyse", "SONG"], "no command or file “anlyse”", "alberti analyse"),
        (["SONG", "--sound", "loud"], "“loud”", "file:OUT.wav"),
        (["--nonsense"], "--nonsense", ""),
    ],
)
def test_bad_arguments_say_what_would_be_right(
    alberti: CommandLine, tmp_path: Path, arguments: list[str], found: str, right: str
) -> None:
    song = tmp_path / "nightboat.toml"
    song.write_text(SONG, encoding="utf-8")
    places = {"SONG": str(song), "none/x": str(tmp_path / "none" / "x")}
    outcome = alberti(*[places.get(word, word) for word in arguments])
    assert outcome.status == 2
    assert found in outcome.err
    assert right in outcome.err
    assert "Traceback" not in outcome.err


def test_a_named_place_for_sound_that_is_not_there_is_bad_input(
    alberti: CommandLine, tmp_path: Path
) -> None:
    path = tmp_path / "night.toml"
    path.write_text(SONG, encoding="utf-8")
    found = alberti("play", path, "--sound", f"file:{tmp_path / 'missing' / 'out.wav'}")
    assert found.status == 2
    assert "No sound" in found.err


def test_takes_count_from_one(alberti: CommandLine, tmp_path: Path) -> None:
    path = tmp_path / "night.toml"
    path.write_text(SONG, encoding="utf-8")
    found = alberti("arrange", path, "--take", "0")
    assert found.status == 2
    assert "take is 0; write a number from 1" in found.err


@pytest.mark.parametrize("data", [b"", bytes(range(256))])
def test_import_names_the_file_that_it_refuses(
    alberti: CommandLine, tmp_path: Path, data: bytes
) -> None:
    path = tmp_path / "what"
    path.write_bytes(data)
    found = alberti("import", path)
    assert found.status == 2
    assert found.err.startswith(f"{path}:1:1: ")


def test_a_song_file_is_not_imported_as_chord_text(alberti: CommandLine, tmp_path: Path) -> None:
    path = tmp_path / "night.toml"
    path.write_text(f"# a song\n{SONG}", encoding="utf-8")
    found = alberti("import", path)
    assert (found.status, found.out) == (2, "")
    assert found.err.startswith(f"{path}:1:1: this is a song file already; open it as it is")


@pytest.mark.parametrize(
    ("closed", "status"), [("<&-", 2), (">&-", 0), ("2>&-", 2), ("<&- >&- 2>&-", 2)]
)
def test_a_closed_standard_stream_is_no_fault(closed: str, status: int, tmp_path: Path) -> None:
    # POSIX shells start a command without a stream for each of these.
    path = tmp_path / "night.toml"
    path.write_text(SONG, encoding="utf-8")
    what = f"analyse {path}" if status == 0 else "analyse -"
    script = "import sys; from tui.cli import main; sys.exit(main())"
    done = subprocess.run(
        ["sh", "-c", f'"$1" -c "$2" {what} {closed}', "sh", sys.executable, script],
        input=b"", capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == status
    assert b"fault" not in done.stderr
    assert done.stdout == b""


def test_nothing_is_said_of_printing_a_song_that_is_not_there(alberti: CommandLine) -> None:
    found = alberti("no-such-song.toml")
    assert found.status == 2
    assert "there is no such file" in found.err
    assert "printed" not in found.err


def test_a_word_that_cannot_be_read_is_underlined_without_numbers(alberti: CommandLine) -> None:
    found = alberti("chord", "C7", "--key", "Hx")
    assert found.status == 2
    assert found.err.startswith("“Hx” is not a key")
    assert found.err.splitlines()[-1].strip() == "^^"


def test_a_complaint_never_commands_the_terminal(alberti: CommandLine, tmp_path: Path) -> None:
    path = tmp_path / "red\x1b[31m.toml"
    path.write_text(SONG.replace("| Ab |", "|\tAb\x1b[2J\x9b |"), encoding="utf-8")
    for words in (["check", path], ["check", tmp_path / "no\x1bfile"], ["chord", "C\x1b[31m"]):
        found = alberti(*words)
        assert found.status == 2
        assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", found.err)
        assert "␛" in found.err


def test_errors_that_cannot_be_printed_leave_the_exit_status(tmp_path: Path) -> None:
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("this system has no /dev/full")
    code = "from tui.cli import main; raise SystemExit(main(['chord', 'Q']))"
    with full.open("w") as stream:
        assert subprocess.run([sys.executable, "-c", code], stderr=stream).returncode == 2


def test_an_import_never_writes_over_what_it_reads(alberti: CommandLine, tmp_path: Path) -> None:
    page, link = tmp_path / "page.txt", tmp_path / "link.toml"
    page.write_text("| C | G |\n", encoding="utf-8")
    link.symlink_to(page)
    for output in (page, link):
        found = alberti("import", page, "-o", output)
        assert found.status == 2
        assert "is the file that is read" in found.err
    assert page.read_text(encoding="utf-8") == "| C | G |\n"
    assert alberti("import", page, "-o", tmp_path / "song.toml").status == 0


def test_a_tempo_slower_than_midi_can_say_is_refused(alberti: CommandLine, tmp_path: Path) -> None:
    """A set_tempo has three bytes of microseconds a quarter note [S: Standard MIDI Files 1.0]."""
    path, output = tmp_path / "slow.toml", tmp_path / "slow.mid"
    slow = 'format = 1\nmeter = "5/16"\ntempo = 10\n[[section]]\nchart = "| C | G |"\n'
    path.write_text(slow, encoding="utf-8")
    found = alberti("render", path, "-o", output)
    assert found.status == 2
    assert "cannot say less than 3.58" in found.err
    assert not output.exists()
    assert alberti("render", path, "-o", output, "--tempo", "60").status == 0
