"""The fixture that runs commands."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import CommandLine


@pytest.fixture
def alberti(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> CommandLine:
    return CommandLine(capsys, monkeypatch)


@pytest.fixture
def demo() -> Path:
    """The song that opens first."""
    return Path(__file__).parents[2] / "shared" / "songs" / "paper-lanterns.toml"
