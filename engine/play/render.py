"""Offline sound: a score to a WAV, FLAC or OGG file, the same bytes for the same score.

It plays through the same transport as the player, with a clock that runs as
fast as the synthesizer computes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from engine.errors import FileError
from engine.play.fluid import BLOCK, RATE, Synth, Voice
from engine.play.message import CONTROL, ON, Send
from engine.play.ogg import fix_serial
from engine.play.score import Score
from engine.play.transport import GUARD, Options, Transport
from engine.whole import whole_file

if TYPE_CHECKING:
    import numpy as np

#: File ending to libsndfile's format and subtype.
FORMATS = {".wav": ("WAV", "PCM_16"), ".flac": ("FLAC", "PCM_16"), ".ogg": ("OGG", "VORBIS")}
#: Frames written at once; libsndfile's Vorbis encoder fails on much larger pieces.
CHUNK = 65536
#: Full scale is 1: a peak above `LOUDEST` is rendered again at `TARGET`.
LOUDEST = 0.98
TARGET = 0.9
#: The tail ends where nothing is louder than this, or after `TAIL` seconds.
SILENCE = 10 ** (-66 / 20)
TAIL = 8.0
_STEP = 0.25

#: Told how much of the whole is done, 0–1; returns whether to go on.
Progress = Callable[[float], bool]


@dataclass(frozen=True, slots=True)
class Tags:
    """What the file says of itself."""

    title: str = ""
    artist: str = ""
    comment: str = ""


@dataclass(frozen=True, slots=True)
class Rendered:
    """What came of it: `seconds` of sound, `peak` of full scale 1, and whether it was stopped."""

    path: Path
    seconds: float
    peak: float
    stopped: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """How to render: metronome, bars of count-in, loudness of hands, soundfont and voice."""

    soundfont: str
    options: Options = field(default_factory=Options)
    count_in: int = 0
    voice: Voice = field(default_factory=Voice)


def messages(score: Score, options: Options, count_in: int = 0) -> list[Send]:
    """Everything that sounds, from 0 seconds on, sorted by time."""
    return _planned(score, options, count_in)[0]


def _planned(score: Score, options: Options, count_in: int) -> tuple[list[Send], float]:
    """Everything that sounds, and when the music ends, in seconds."""
    transport = Transport(score, options)
    now = -GUARD
    found = [c for c in transport.play(Fraction(0), now, bars_in=count_in) if isinstance(c, Send)]
    end = 0.0
    while runs := transport.seen.runs:
        end = runs[-1][0].end_at
        now += _STEP
        found += [command for command in transport.tick(now) if isinstance(command, Send)]
    return found, end


def render(
    score: Score, path: Path, plan: Plan, tags: Tags | None = None, progress: Progress | None = None
) -> Rendered:
    """Render a score to a sound file, whose ending says its kind; it lasts as long as the score.

    Raises FileError for an ending that is none of these or a file that cannot
    be written, SoundError where the soundfont cannot be used.
    """
    if path.suffix.lower() not in FORMATS:
        raise FileError(
            f"{path.name} has no ending of a sound file", f"end it in {', '.join(FORMATS)}"
        )
    work = _Work(
        path, *_planned(score, plan.options, plan.count_in), plan, tags or Tags(), progress
    )
    with suppress(_Stopped), whole_file(path) as part:
        done = _write(part, work, 1.0)
        if done.peak > LOUDEST:
            done = _write(part, work, TARGET / done.peak)
        if path.suffix.lower() == ".ogg":
            fix_serial(part)
        return done
    return Rendered(path, 0.0, 0.0, stopped=True)


class _Stopped(Exception):  # noqa: N818 - nothing went wrong
    """Whoever was told of the progress did not want to go on."""


@dataclass(frozen=True, slots=True)
class _Work:
    """What is to be rendered, and where to."""

    path: Path
    sends: list[Send]
    end: float
    plan: Plan
    tags: Tags
    progress: Progress | None


def _write(part: Path, work: _Work, scale: float) -> Rendered:
    """Render once, the gain times `scale`; the peak is that before conversion."""
    import numpy as np
    import soundfile

    kind, subtype = FORMATS[work.path.suffix.lower()]
    peak, frames = 0.0, 0
    synth = Synth(work.plan.soundfont, work.plan.voice)
    try:
        synth.gain(work.plan.voice.gain * scale)
        with soundfile.SoundFile(
            str(part), "w", samplerate=RATE, channels=2, format=kind, subtype=subtype
        ) as file:
            for name in ("title", "artist", "comment"):
                if getattr(work.tags, name):
                    setattr(file, name, getattr(work.tags, name))
            for piece in sound(synth, work.sends, work.end):
                peak = max(peak, float(np.abs(piece).max(initial=0.0)))
                frames += len(piece)
                file.write(_to_16(piece) if subtype == "PCM_16" else np.clip(piece, -1, 1))
                share = min(1.0, frames / RATE / (work.end + 1))
                if work.progress and not work.progress(share):
                    raise _Stopped
    except soundfile.LibsndfileError as error:
        why = error.error_string.rstrip(".")
        raise FileError(
            f"“{work.path}” cannot be written: {why}", "see that the disk has room"
        ) from None
    finally:
        synth.close()
    return Rendered(work.path, frames / RATE, peak)


def _to_16(piece: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """Floats to 16-bit samples, rounded to the nearest."""
    import numpy as np

    samples: np.ndarray[Any, Any] = np.clip(np.rint(piece * 32767), -32768, 32767)
    return samples.astype(np.int16)


def sound(synth: Synth, sends: list[Send], end: float = 0.0) -> Iterator[np.ndarray[Any, Any]]:
    """The sound of messages in pieces of at most `CHUNK` stereo frames, to `end` and its tail.

    A message takes effect at the block nearest to its time. The arrays are
    valid until the next piece is asked for.
    """
    import numpy as np

    buffer = np.zeros((CHUNK, 2), np.float32)
    start = buffer.ctypes.data
    filled = frames = 0

    def write(count: int) -> None:
        synth.write(count, start + filled * 8)

    def until(seconds: float) -> Iterator[np.ndarray[Any, Any]]:
        nonlocal filled, frames
        target = round(seconds * RATE / BLOCK) * BLOCK
        while frames < target:
            count = min(target - frames, CHUNK - filled)
            write(count)
            filled += count
            frames += count
            if filled == CHUNK:
                yield buffer
                filled = 0

    for send in sends:
        yield from until(send.at)
        message = send.message
        if message.kind == ON:
            synth.note_on(message.channel, message.number, message.value)
        elif message.kind == CONTROL:
            synth.control(message.channel, message.number, message.value)
        else:
            synth.note_off(message.channel, message.number)
    yield from until(end)
    if filled:
        yield buffer[:filled]
    for _ in range(int(TAIL / 0.2)):
        filled = 0
        count = int(0.2 * RATE) // BLOCK * BLOCK
        write(count)
        yield buffer[:count]
        if float(np.abs(buffer[:count]).max()) < SILENCE:
            return
