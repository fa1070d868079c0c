"""How steadily notes begin in real time: a loop on the headless device, under load.

Beside it the same notes from a Python thread that sleeps between them, the way
not taken. Load: two busy processes, a thread of this process that computes, and
a script that edits the score and turns the metronome while it plays. Seconds
to play: ALBERTI_BENCH_SECONDS (default 20).
"""

from __future__ import annotations

import multiprocessing
import os
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import soundfile

from engine.perform import Performance, Played, TempoMap, TempoPoint
from engine.play.fluid import RATE, Synth, Voice
from engine.play.player import Player
from engine.play.score import Score
from engine.play.soundfont import usable
from engine.play.synth_output import SynthOutput
from engine.song import Hand

SECONDS = float(os.environ.get("ALBERTI_BENCH_SECONDS", "20"))
KEY = 76
#: A short dry sound, so that every onset can be told to the sample: GM woodblock, no reverb.
VOICE = Voice(program=115, level=0.0)
#: Onsets are not on any round grid: eighths at this many quarters a minute.
QUARTERS = 133.7


def score(velocity: int = 100) -> Score:
    """Two bars of eighths on one key."""
    notes = tuple(
        Played(Fraction(i, 8), Fraction(i, 8) + Fraction(1, 16), KEY, velocity, Hand.RIGHT)
        for i in range(16)
    )
    points = (TempoPoint(Fraction(0), QUARTERS),)
    bars = tuple((Fraction(bar), Fraction(1), Fraction(1, 4)) for bar in range(2))
    return Score(Performance(notes, (), points, Fraction(2)), (), bars, TempoMap(points))


def onsets(path: Path) -> np.ndarray:
    """Onset times in seconds: where the wave equals that of the first note best."""
    wave, rate = soundfile.read(path, dtype="float32", always_2d=True)
    mono = wave[:, 0]
    first = int(np.flatnonzero(np.abs(mono) > 1e-3)[0])
    shape = mono[first : first + int(0.02 * rate)]
    step = 240 / QUARTERS / 8 * rate
    found, number = [], 0
    while first + number * step + 0.1 * rate < len(mono):
        place = first + number * step
        low = max(0, int(place - 0.08 * rate))
        piece = mono[low : int(place + 0.1 * rate)]
        match = np.correlate(piece, shape, mode="valid")
        found.append((low + int(np.argmax(match))) / rate)
        number += 1
    return np.array(found)


def report(name: str, times: np.ndarray) -> float:
    """Print the distribution of onsets against the score, relative to the first; worst in ms."""
    step = 240 / QUARTERS / 8
    off = 1000 * (times - times[0] - step * np.arange(len(times)))
    worst = float(np.abs(off).max())
    marks = np.percentile(off, [1, 25, 50, 75, 99])
    print(
        f"\n{name}: {len(times)} onsets, sd {off.std():.2f} ms, worst {worst:.2f} ms, "
        f"1/25/50/75/99 % {' '.join(f'{mark:+.2f}' for mark in marks)}"
    )
    return worst


def _burn() -> None:
    while True:
        sum(range(10_000))


@contextmanager
def load() -> Iterator[None]:
    """Two busy processes and one busy thread of this process."""
    context = multiprocessing.get_context("spawn")
    burners = [context.Process(target=_burn, daemon=True) for _ in range(2)]
    for burner in burners:
        burner.start()
    done = threading.Event()

    def compute() -> None:
        while not done.is_set():
            sorted(str(number) for number in range(2000))

    thread = threading.Thread(target=compute)
    thread.start()
    time.sleep(1.0)
    try:
        yield
    finally:
        done.set()
        thread.join()
        for burner in burners:
            burner.terminate()
            burner.join()


def test_onsets_on_the_audio_clock(tmp_path: Path) -> None:
    out = tmp_path / "out.wav"
    soundfont, _ = usable()
    player = Player(lambda voice: SynthOutput("", str(soundfont), voice, "file", str(out)), VOICE)
    assert player.wait_ready()
    player.load(score())
    with load():
        player.play(loop=(Fraction(0), Fraction(2)))
        end = time.monotonic() + SECONDS
        edit = 0
        while time.monotonic() < end:
            time.sleep(0.11)
            edit += 1
            # A real edit, read, laid out and planned anew; it leaves this bench's notes alone.
            other = score()
            beside = Played(Fraction(1), Fraction(2), 20 + edit % 3, 1, Hand.LEFT)
            played = replace(other.performance, notes=(*other.performance.notes, beside))
            player.mute(Hand.LEFT)
            player.load(replace(other, performance=played))
        player.stop()
        time.sleep(0.2)
    player.close()
    times = onsets(out)
    assert report("sequencer on the audio clock, edited nine times a second", times[:-2]) <= 1.5


def test_onsets_from_a_sleeping_thread(tmp_path: Path) -> None:
    """The baseline: what a Python timer does under the same load."""
    out = tmp_path / "out.wav"
    soundfont, _ = usable()
    synth = Synth(str(soundfont), VOICE, {"audio.file.name": str(out), "audio.period-size": 64})
    synth.start("file")
    step = 240 / QUARTERS / 8

    def serve() -> None:
        start = time.monotonic() + 0.1
        for number in range(int(SECONDS / step)):
            time.sleep(max(0.0, start + number * step - time.monotonic()))
            synth.note_on(0, KEY, 100)
            time.sleep(step / 2)
            synth.note_off(0, KEY)

    with load():
        thread = threading.Thread(target=serve)
        thread.start()
        thread.join()
    synth.close()
    assert RATE
    report("sleeping thread", onsets(out)[:-2])
