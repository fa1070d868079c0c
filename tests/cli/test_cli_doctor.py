"""`doctor` and the commands that sound, read by someone whose machine lacks a part."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MAIN = "from tui.cli import main; raise SystemExit(main())"
SONG = """format = 1
title = "Loft"
key = "C major"
meter = "4/4"
tempo = 400

[[section]]
name = "A"
chart = "| C |"
"""


class Machine:
    """Runs the program in a process of its own, where parts may be hidden from it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.song = folder / "loft.toml"
        self.song.write_text(SONG, encoding="utf-8")
        self.environment = {**os.environ, "XDG_DATA_HOME": str(folder / "data")}
        self.environment.pop("ALBERTI_SOUNDFONT", None)

    def hide_library(self) -> None:
        """A module found before the real one, which fails as that does without its library."""
        hidden = self.folder / "hidden"
        hidden.mkdir()
        lines = 'raise ImportError("Couldn\'t find the FluidSynth library.")\n'
        (hidden / "fluidsynth.py").write_text(lines, encoding="utf-8")
        paths = [str(hidden), *filter(None, [os.environ.get("PYTHONPATH")]), str(ROOT)]
        self.environment["PYTHONPATH"] = os.pathsep.join(paths)

    def hide_soundfonts(self) -> None:
        self.environment["XDG_DATA_DIRS"] = str(self.folder / "nothing")

    def run(self, *words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-c", MAIN, *words],
            env=self.environment, cwd=ROOT, capture_output=True, text=True, timeout=60,
            check=False,
        )  # fmt: skip


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    return Machine(tmp_path)


def test_the_report_ends_with_what_it_comes_to(machine: Machine) -> None:
    found = machine.run("doctor")
    assert found.stderr == ""
    assert found.stdout.splitlines()[0].startswith("system    ok       Alberti ")
    last = found.stdout.splitlines()[-1]
    assert last.startswith("All that sound needs" if found.returncode == 0 else "Missing: ")


def test_without_the_library_the_cure_comes_first_and_all_else_works(machine: Machine) -> None:
    machine.hide_library()
    found = machine.run("doctor")
    assert found.returncode == 1
    lines = found.stdout.splitlines()
    assert lines[1].startswith("library   missing  FluidSynth is not there")
    assert lines[2].strip().startswith("to mend it: ")
    assert lines[-1].startswith("Missing: the synthesizer library")
    assert "damaged" not in found.stdout
    played = machine.run("play", str(machine.song))
    assert played.returncode == 0
    assert played.stderr.count("\n") == 1
    assert "'alberti doctor' says how" in played.stderr
    rendered = machine.run("render", str(machine.song), "-o", str(machine.folder / "loft.wav"))
    assert rendered.returncode == 2
    assert "Traceback" not in rendered.stderr
    assert rendered.stderr.count("\n") == 1
    assert not (machine.folder / "loft.wav").exists()
    assert (
        machine.run("render", str(machine.song), "-o", str(machine.folder / "a.mid")).returncode
        == 0
    )


def test_without_a_soundfont_it_says_which_and_where_it_goes(machine: Machine) -> None:
    machine.hide_soundfonts()
    found = machine.run("doctor")
    assert found.returncode == 1
    assert "soundfont missing  no soundfont that serves" in found.stdout
    assert f"the folder for your own soundfonts is {machine.folder}" in found.stdout
    rendered = machine.run("render", str(machine.song), "-o", str(machine.folder / "loft.wav"))
    assert rendered.returncode == 2
    assert "no soundfont is there; install one" in rendered.stderr


def test_a_damaged_soundfont_is_named_and_another_used(machine: Machine) -> None:
    broken = machine.folder / "broken.sf2"
    broken.write_bytes(b"RIFF" + bytes(3000))
    machine.environment["ALBERTI_SOUNDFONT"] = str(broken)
    found = machine.run("doctor", "--json")
    facts = [json.loads(line) for line in found.stdout.splitlines()]
    fonts = [each for each in facts if each["topic"] == "soundfont"]
    assert not fonts[0]["good"]
    assert "broken.sf2 is no soundfont" in fonts[0]["text"]
    assert any("(the one in use)" in each["text"] for each in fonts if each["good"])
    rendered = machine.run("render", str(machine.song), "-o", str(machine.folder / "loft.wav"))
    assert rendered.returncode == 0
    assert "broken.sf2 is no soundfont; " in rendered.stderr
