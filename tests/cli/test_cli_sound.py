"""`render` and `play` from outside: where to, how fast, and what Ctrl-C leaves."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import time
from pathlib import Path

import mido
import pexpect
import pytest
import soundfile

from tests.cli.command_line import CommandLine

SONG = """format = 1
title = "Two Speeds"
key = "C major"
meter = "4/4"
tempo = 80
right = "1 2 3 2"
left = "R . . ."

[[section]]
name = "A"
tempo = 120
chart = "| C | G7 |"

[[section]]
name = "B"
tempo = 60
chart = "| F | C |"
"""
MAIN = "from tui.cli import main; raise SystemExit(main())"


@pytest.fixture
def song(tmp_path: Path) -> Path:
    path = tmp_path / "two-speeds.toml"
    path.write_text(SONG, encoding="utf-8")
    return path


def tempos(path: Path) -> list[float]:
    """Beats a minute of a MIDI file's tempo events, without a final ritard's."""
    events = [event for event in mido.MidiFile(path).tracks[0] if event.type == "set_tempo"]
    return [round(60_000_000 / event.tempo, 1) for event in events]


@pytest.mark.parametrize(
    ("more", "first"),
    [
        ([], 120.0),
        (["--tempo", 90], 90.0),
        (["--bars", "3-4"], 60.0),
        (["--bars", "3-4", "--tempo", 90], 90.0),
    ],
)
def test_the_tempo_asked_for_is_that_of_the_first_bar_that_sounds(
    more: list[object], first: float, alberti: CommandLine, song: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out.mid"
    assert alberti("render", song, "-o", out, *more).status == 0
    assert tempos(out)[0] == first


def test_later_tempos_keep_their_proportion(
    alberti: CommandLine, song: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out.mid"
    alberti("render", song, "-o", out, "--bars", "1-4", "--tempo", 60)
    assert tempos(out) == [60.0, 30.0]


def test_the_tempo_asked_for_stands_on_paper(
    alberti: CommandLine, song: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out.musicxml"
    assert alberti("render", song, "-o", out, "--tempo", 60).status == 0
    found = re.findall(r"<per-minute>([\d.]+)</per-minute>", out.read_text(encoding="utf-8"))
    assert found == ["60", "30"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["-o", "-"], "not written to the standard output; name a file that ends in .mid, "),
        (["-o", ""], "-o names no file; name one that ends in .mid, "),
        (["-o", "song"], "“song” has no ending; end its name in .mid, "),
        (["-o", "song.mp3"], "nothing is known of files ending in “.mp3”; end its name in .mid, "),
        (["-o", "song.pdf", "--click"], "--click cannot be put on paper (.pdf); leave it out"),
        (["-o", "song.svg", "--click", "--count-in"], "--click and --count-in cannot be put on"),
        (["-o", "nowhere/song.wav"], "“nowhere/song.wav” cannot be written: No such file or dir"),
        (["-o", "nowhere/song.mid"], "“nowhere/song.mid” cannot be written: No such file or dir"),
        (["-o", "x.wav", "--tempo", "0"], "a tempo of 0 cannot be played; write 5 to 400"),
    ],
)
def test_what_cannot_be_written_is_told_in_one_line_with_a_cure(
    arguments: list[str],
    said: str,
    alberti: CommandLine,
    song: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    found = alberti("render", song, *arguments)
    assert found.status == 2
    assert said in found.err
    assert found.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == [song]


def test_a_long_render_shows_its_progress_and_ctrl_c_leaves_no_file(tmp_path: Path) -> None:
    song, out = tmp_path / "long.toml", tmp_path / "long.wav"
    bars = "| C | G7 | Am | F |\n" * 60
    song.write_text(
        'format = 1\ntitle = "Long"\nkey = "C major"\nmeter = "4/4"\ntempo = 30\n\n'
        f'[[section]]\nname = "A"\nchart = """\n{bars}"""\n',
        encoding="utf-8",
    )
    child = pexpect.spawn(
        sys.executable, ["-c", MAIN, "render", str(song), "-o", str(out)], encoding="utf-8",
        timeout=60, dimensions=(24, 80),
    )  # fmt: skip
    child.expect(r"long\.wav.*\d+%")
    child.expect(r"[1-9]\d*%")
    child.send("\x03")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    assert list(tmp_path.iterdir()) == [song]


def test_play_counts_in_and_says_what_sounds(tmp_path: Path, song: Path) -> None:
    out = tmp_path / "heard.wav"
    words = ["play", str(song), "--sound", f"file:{out}", "--count-in", "--tempo", "400"]
    child = pexpect.spawn(sys.executable, ["-c", MAIN, *words], encoding="utf-8", timeout=60)
    child.expect("count-in 4")
    child.expect("bar 1")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    # Four beats of count-in and two bars at 400, two bars at 200, and a ritard.
    assert 12 * 0.15 + 8 * 0.3 < soundfile.info(out).duration < 20


def test_play_tells_each_bar_as_json_and_ends_when_terminated(song: Path) -> None:
    command = [sys.executable, "-c", MAIN, "play", str(song), "--bars", "3", "--tempo", "400"]
    with subprocess.Popen(
        [*command, "--loop", "--json", "--sound", "none"], stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout
        told = [json.loads(process.stdout.readline()) for _ in range(2)]
        process.terminate()
    assert told == [{"bar": 3, "pass": 1}, {"bar": 3, "pass": 2}]
    assert process.returncode == 143


def test_ctrl_c_ends_a_loop_at_once(tmp_path: Path, song: Path) -> None:
    words = ["play", str(song), "--sound", "none", "--loop", "--bars", "2", "--tempo", "400"]
    child = pexpect.spawn(sys.executable, ["-c", MAIN, *words], encoding="utf-8", timeout=60)
    child.expect("bar 2, pass 3")
    began = time.monotonic()
    child.send("\x03")
    child.expect(pexpect.EOF)
    assert time.monotonic() - began < 10
    child.close()
    assert child.exitstatus == 0
