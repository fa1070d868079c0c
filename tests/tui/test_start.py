"""The first picture needs the song and the screen: nothing slow loads before it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tui import opening

LATER = ("engine.arrange", "engine.harmony", "engine.figures", "engine.reharm", "engine.play")
SLOW = ("numpy", "music21", "verovio", "typst", "soundfile", "fluidsynth", "mido", "tomlkit")


def test_nothing_that_the_first_picture_can_do_without_is_imported() -> None:
    code = f"import sys, tui.opening; print([n for n in {LATER + SLOW} if n in sys.modules])"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


def test_a_song_that_is_not_there_is_refused_with_the_way_to_a_new_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(opening, "note_faults", lambda: None)
    assert opening.run(str(tmp_path / "unwritten.toml")) == 2
    told = capsys.readouterr().err
    assert "there is no such file" in told
    assert "begins a new song" in told
    (tmp_path / "broken.toml").write_text("format = 1\nkey =", encoding="utf-8")
    assert opening.run(str(tmp_path / "broken.toml")) == 2
    assert "begins a new song" not in capsys.readouterr().err
