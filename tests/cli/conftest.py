"""The fixture that runs commands, and songs for it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import SONG, CommandLine


@pytest.fixture
def alberti(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> CommandLine:
    return CommandLine(capsys, monkeypatch)


@pytest.fixture
def demo() -> Path:
    """The song that opens first."""
    return Path(__file__).parents[2] / "shared" / "songs" / "paper-lanterns.toml"


@pytest.fixture
def song(tmp_path: Path) -> Path:
    """Four bars with a melody, in a file of the test's own."""
    path = tmp_path / "two.toml"
    path.write_text(SONG, encoding="utf-8")
    return path
