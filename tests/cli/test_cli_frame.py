"""The frame of all commands: help, streams, alphabets, signals and faults."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.command_line import SONG, CommandLine
from tui.cli import frame

SCRIPT = (sys.executable, "-c", "import sys; from tui.cli import main; sys.exit(main())")


def test_songs_come_from_standard_input_too(alberti: CommandLine) -> None:
    assert alberti("analyse", "--json", "-", stdin=SONG).records[0]["file"] == "-"
    assert alberti("check", "-", stdin=SONG.encode()).status in (0, 1)


def test_help_lists_every_command_and_each_has_its_own(alberti: CommandLine) -> None:
    shown = alberti("--help")
    assert shown.status == 0
    for name in frame.commands():
        assert f"  {name} " in shown.out
        own = alberti(name, "--help")
        assert own.status == 0
        assert f"alberti {name}" in own.out
    assert alberti("--version").out.startswith("alberti ")


def test_without_a_terminal_the_song_is_printed(alberti: CommandLine, demo: Path) -> None:
    shown = alberti(demo)
    assert shown.status == 0
    assert "needs a terminal" in shown.err
    assert "Paper Lanterns · A♭ major · 4/4 · 69" in shown.out
    assert "♭" in shown.out
    assert "right hand: " in shown.out
    alone = alberti()
    assert alone.status == 2
    assert "needs a terminal" in alone.err


def test_print_survives_an_alphabet_without_flats(demo: Path) -> None:
    found = subprocess.run(
        [*SCRIPT, "analyse", str(demo)], capture_output=True, check=False,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert found.returncode == 0
    assert b"Traceback" not in found.stderr
    as_json = subprocess.run(
        [*SCRIPT, "analyse", "--json", str(demo)], capture_output=True, check=False,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert json.loads(as_json.stdout)["title"] == "Paper Lanterns"


def test_the_installed_command_runs(demo: Path) -> None:
    script = Path(sys.executable).with_name("alberti")
    found = subprocess.run([script, "key", demo], capture_output=True, text=True, check=False)
    assert found.returncode == 0
    assert "A♭ major" in found.stdout


def test_a_reader_that_leaves_is_no_error(demo: Path) -> None:
    """As in `alberti analyse … | head -1`."""
    reader, writer = os.pipe()
    process = subprocess.Popen(
        [*SCRIPT, "analyse", "--json", *[str(demo)] * 40], stdout=writer, stderr=subprocess.PIPE
    )
    os.close(writer)
    os.read(reader, 10)
    os.close(reader)
    _, complaints = process.communicate(timeout=60)
    assert process.returncode == 141
    assert complaints == b""


def test_a_line_is_answered_before_the_next_is_written() -> None:
    with subprocess.Popen(
        [*SCRIPT, "chord", "--json", "-"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdin
        assert process.stdout
        for symbol in ("C", "G7"):
            process.stdin.write(f"{symbol}\n")
            process.stdin.flush()
            assert json.loads(process.stdout.readline())["symbol"] == symbol


def test_bytes_that_are_no_text_come_back_escaped() -> None:
    """As JSON escapes a lone surrogate (RFC 8259, section 8.2), which is how Python reads them."""
    found = subprocess.run(
        [*SCRIPT, "chord", "--json", b"\xff", "C"], capture_output=True, check=False,
        env={**os.environ, "PYTHONIOENCODING": "utf-8:strict"},
    )  # fmt: skip
    assert found.returncode == 2
    assert found.stderr == b""
    wrong, right = (json.loads(line) for line in found.stdout.decode().splitlines())
    assert (wrong["symbol"], wrong["column"], right["symbol"]) == ("\udcff", 1, "C")


def test_being_terminated_leaves_no_half_made_file(tmp_path: Path) -> None:
    script = (
        "import os, signal, sys\n"
        "from engine.whole import whole_file\n"
        "from tui.cli.guard import Guard, heed_termination\n"
        "heed_termination()\n"
        "with (guard := Guard()):\n"
        "    with whole_file(sys.argv[1]) as part:\n"
        "        part.write_bytes(b'half')\n"
        "        print(os.listdir(part.parent) == [part.name], flush=True)\n"
        "        os.kill(os.getpid(), signal.SIGTERM)\n"
        "sys.exit(guard.status)\n"
    )
    found = subprocess.run(
        [sys.executable, "-c", script, tmp_path / "out.wav"], capture_output=True, check=False
    )
    assert (found.returncode, found.stdout, found.stderr) == (143, b"True\n", b"")
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_ends_quietly() -> None:
    process = subprocess.Popen(
        [*SCRIPT, "chord", "--json", "C", "-"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline().startswith(b'{"symbol"')
    process.send_signal(signal.SIGINT)
    _, complaints = process.communicate(timeout=60)
    assert process.returncode == 130
    assert complaints == b""


def test_no_traceback_reaches_people(
    alberti: CommandLine, demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("engine.harmony.analyse", fail)
    monkeypatch.delenv("ALBERTI_DEBUG", raising=False)
    found = alberti("analyse", demo)
    assert found.status == 2
    assert "a fault of the program" in found.err
    assert "ZeroDivisionError: by nothing" in found.err
    assert "Traceback" not in found.err
    monkeypatch.setenv("ALBERTI_DEBUG", "1")
    assert "Traceback" in alberti("analyse", demo).err
