"""Nothing a C library says reaches the screen, with and without a sound device."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pexpect
import pytest

LIBRARY_TALK = """
import ctypes, ctypes.util
import fluidsynth
settings = fluidsynth.new_fluid_settings()
synth = fluidsynth.new_fluid_synth(settings)
fluidsynth.fluid_synth_sfload(synth, b"/nowhere.sf2", 1)
"""
PLAYS = """
import time
from fractions import Fraction
from engine.play.player import Player
from engine.play.doctor import examine
from tests.play.play_scores import scale
player = Player.open({kind!r})
player.wait_ready()
player.load(scale())
player.play(loop=(Fraction(0), Fraction(1)))
time.sleep(0.4)
player.panic()
player.close()
examine()
"""


def printed(code: str, **variables: str) -> bytes:
    """What a Python program writes to a terminal of its own."""
    root = str(Path(__file__).parents[2])
    environment = {**os.environ, "PYTHONPATH": root, "PYTHONWARNINGS": "ignore", **variables}
    child = pexpect.spawn(sys.executable, ["-c", code], env=environment, timeout=60, cwd=root)
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0, child.before
    written: bytes = child.before
    return written


@pytest.mark.parametrize("kind", ["auto", "none", "midi:nowhere", "file:{out}"])
def test_no_byte_reaches_the_screen(kind: str, tmp_path: Path) -> None:
    where = kind.format(out=tmp_path / "out.wav")
    assert printed(PLAYS.format(kind=where), CI="1", TERM="xterm") == b""


def test_no_byte_of_a_broken_soundfont_reaches_the_screen(tmp_path: Path) -> None:
    broken = tmp_path / "broken.sf2"
    broken.write_bytes(b"RIFF" + (9996).to_bytes(4, "little") + b"sfbk" + bytes(10_000))
    code = PLAYS.format(kind=f"file:{tmp_path / 'out.wav'}")
    assert printed(code, ALBERTI_SOUNDFONT=str(broken)) == b""


def test_the_library_by_itself_would_print() -> None:
    """So that the checks above can fail."""
    assert b"fluidsynth: error" in printed(LIBRARY_TALK)
