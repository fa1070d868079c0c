"""The program in a pseudo-terminal: open, change a chord, hear it change, save, quit, be killed."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pexpect
import pytest
import soundfile

from engine.song import load_song

SONG = """# found again after every save
format = 1
title = "Loft"
key = "C major"
meter = "4/4"
tempo = 160
right = "1 2 3 2 1 2 3 2"
left = "R . . ."

[[section]]
name = "A"
chart = "| C | C |"
"""
MAIN = "from tui.cli import main; raise SystemExit(main())"


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Path]:
    """A home of its own, with the song in it; what was started there ends with the test."""
    (tmp_path / "loft.toml").write_text(SONG, encoding="utf-8")
    yield tmp_path
    for child in STARTED:
        child.close(force=True)
    STARTED.clear()


STARTED: list[pexpect.spawn] = []


def start(home: Path, *more: str) -> pexpect.spawn:
    """The workshop on the song, 80 by 24, with its folders below `home`."""
    folders = {f"XDG_{name}_HOME": str(home / name) for name in ("STATE", "CONFIG", "DATA")}
    child = pexpect.spawn(
        sys.executable,
        ["-c", MAIN, str(home / "loft.toml"), *more],
        env={**os.environ, **folders, "TERM": "xterm-256color", "LANG": "C.UTF-8"},
        dimensions=(24, 80),
        encoding="utf-8",
        timeout=30,
    )
    STARTED.append(child)
    child.expect("stopped")
    return child


def keys(child: pexpect.spawn, text: str) -> None:
    """Type as people do: one key after another."""
    for key in text:
        child.send(key)
        time.sleep(0.03)


def test_open_change_a_chord_hear_it_change_save_and_quit(home: Path) -> None:
    heard = home / "heard.wav"
    child = start(home, "--sound", f"file:{heard}")
    child.expect("piano: ")
    keys(child, " ")
    child.expect("► bar 2")
    keys(child, " ")
    child.expect("■ stopped")
    time.sleep(1.5)
    keys(child, "F#\r")
    child.expect("Bar 1: F#")
    keys(child, "F#\r")
    child.expect("Bar 2: F#")
    time.sleep(1.0)
    keys(child, "\x1b[H")
    time.sleep(0.3)
    keys(child, " ")
    child.expect("► bar 2")
    keys(child, " ")
    child.expect("■ stopped")
    keys(child, "s")
    child.expect("Saved in")
    keys(child, "q")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    song = load_song(home / "loft.toml")
    assert [bar.slots[0].typed for bar in song.bars] == ["F#", "F#"]
    assert (home / "loft.toml").read_text(encoding="utf-8").startswith("# found again")
    first, second = played_twice(heard)
    assert loudest(first, 3) == {0, 4, 7}
    assert loudest(second, 3) == {6, 10, 1}


def played_twice(path: Path) -> tuple[np.ndarray, np.ndarray]:
    """The two stretches of sound in a recording, the silence between them cut away."""
    data, rate = soundfile.read(path)
    mono = data.mean(axis=1) if data.ndim > 1 else data
    block = rate // 20
    loud = np.abs(mono[: len(mono) // block * block]).reshape(-1, block).max(axis=1)
    sounding = np.flatnonzero(loud > 0.1 * loud.max())
    gaps = np.diff(sounding)
    middle = int(np.argmax(gaps))
    first = mono[sounding[0] * block : (sounding[middle] + 1) * block]
    second = mono[sounding[middle + 1] * block : (sounding[-1] + 1) * block]
    return tone(first, rate), tone(second, rate)


def tone(sound: np.ndarray, rate: int) -> np.ndarray:
    """Energy by pitch class, A4 at 440 Hz (ISO 16), from C3 to C6."""
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)))) ** 2
    hertz = np.fft.rfftfreq(len(sound), 1 / rate)
    classes = np.zeros(12)
    for midi in range(48, 85):
        centre = 440 * 2 ** ((midi - 69) / 12)
        near = (hertz > centre / 2 ** (1 / 48)) & (hertz < centre * 2 ** (1 / 48))
        classes[midi % 12] += spectrum[near].sum()
    return classes


def loudest(classes: np.ndarray, count: int) -> set[int]:
    return {int(index) for index in np.argsort(classes)[-count:]}


def wait_for_note(home: Path, text: str, seconds: float = 5) -> None:
    """Wait until the journal holds a text; a busy machine may take a moment."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        notes = (home / "STATE" / "alberti").glob("*.journal.json")
        if any(text in note.read_text(encoding="utf-8") for note in notes):
            return
        time.sleep(0.02)
    raise AssertionError(f"{text} was never written down")


def test_what_was_typed_survives_being_killed(home: Path) -> None:
    child = start(home, "--sound", "none")
    keys(child, "Am7\r")
    child.expect("Bar 1: Am7")
    keys(child, "Dm")
    child.expect("take it")
    wait_for_note(home, '"Dm"')
    child.kill(signal.SIGKILL)
    child.expect(pexpect.EOF)
    child.wait()  # a shell would do that: until then the process is still there
    assert "Am7" not in (home / "loft.toml").read_text(encoding="utf-8")
    again = start(home, "--sound", "none")
    again.expect("Recovered")
    keys(again, "7\r")
    again.expect("Bar 2: Dm7")
    keys(again, "s")
    again.expect("Saved in")
    keys(again, "q")
    again.expect(pexpect.EOF)
    song = load_song(home / "loft.toml")
    assert [bar.slots[0].typed for bar in song.bars] == ["Am7", "Dm7"]
    assert list((home / "STATE" / "alberti").glob("*.journal.json")) == []


def test_a_broken_song_is_told_line_and_column_and_no_screen_opens(home: Path) -> None:
    (home / "loft.toml").write_text(SONG.replace("| C | C |", "| C | Hm |"), encoding="utf-8")
    child = pexpect.spawn(
        sys.executable, ["-c", MAIN, str(home / "loft.toml")], encoding="utf-8", timeout=30
    )
    STARTED.append(child)
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 2
    assert "loft.toml:12:16" in child.before
    assert "Hm" in child.before
    assert "Traceback" not in child.before


def test_the_songs_text_in_the_users_own_editor(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    script = home / "editor.sh"
    script.write_text('sed -i "s/C | C/C | Am/; s/again after/again, long after/" "$1"\n')
    monkeypatch.setenv("VISUAL", f"sh {script}")
    child = start(home, "--sound", "none")
    keys(child, "X")
    child.expect("Am")
    keys(child, "sq")
    child.expect(pexpect.EOF)
    text = (home / "loft.toml").read_text(encoding="utf-8")
    assert '"| C | Am |"' in text
    assert text.startswith("# found again, long after every save")
