"""The first picture needs the song and the screen: nothing slow loads before it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from engine.play import Player
from engine.song import read_song
from engine.workshop import open_file, open_work
from engine.workshop.journal import Journal
from tests.tui.desk_helpers import run, settled, typed
from tui import opening
from tui.app import Workshop
from tui.settings import Options

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


def test_a_new_song_saved_by_a_name_is_not_found_again_as_unsaved(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "state", 1)

    async def test() -> None:
        app = Workshop(
            open_work(read_song(opening.BLANK)), Player(), Options(), journal, glow_seconds=0
        )
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "Am⏎")
            assert len(list((tmp_path / "state").iterdir())) == 1
            await typed(pilot, "S")
            await pilot.press("ctrl+u", *f"{tmp_path}/tide", "enter")
            await settled(pilot)
            assert (tmp_path / "tide.toml").exists()
            assert list((tmp_path / "state").iterdir()) == []
            await typed(pilot, "Dm⏎")
            assert len(list((tmp_path / "state").iterdir())) == 1
            again = Journal(tmp_path / "state", 1)
            saved = open_file(str(tmp_path / "tide.toml"))
            assert again.recover(saved).song == app.work.song  # it stands under the new name

    run(test)
