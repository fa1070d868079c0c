"""The first picture needs the song and the screen: nothing slow loads before it."""

from __future__ import annotations

import subprocess
import sys

LATER = ("engine.arrange", "engine.harmony", "engine.figures", "engine.reharm", "engine.play")
SLOW = ("numpy", "music21", "verovio", "typst", "soundfile", "fluidsynth", "mido", "tomlkit")


def test_nothing_that_the_first_picture_can_do_without_is_imported() -> None:
    code = f"import sys, tui.opening; print([n for n in {LATER + SLOW} if n in sys.modules])"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
