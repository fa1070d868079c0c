"""Parts as a person might have played them into a recorder: uneven, with or without a click."""

from __future__ import annotations

import io
import random
from dataclasses import dataclass
from math import sin

import mido

from engine.arrange import arrange
from engine.harmony import analyse
from engine.part import Part
from engine.song import Hand, Song, read_song

_TICKS = 480


@dataclass(frozen=True)
class Playing:
    """How it is played: `jitter` in seconds (standard deviation), `rubato` as a share of a beat.

    Without `click` the recorder runs at 120 whatever is played; `together` puts both hands on one
    track; `meter` writes the time signature.
    """

    jitter: float = 0.02
    rubato: float = 0.0
    click: bool = True
    together: bool = True
    meter: bool = False
    pedal: bool = True
    seed: int = 1


#: Plain figures, so that what is played is the same whatever the program would choose.
_FIGURES = {
    "4/4": ("1 2 3 2/8", "R . 5 ."),
    "3/4": ("1 2 3 2 3 2", "R . ."),
    "6/8": ("x 1 2 3 2 1", "R . . R . ."),
    "2/2": ("1 2 3 2/8", "R . . ."),
}


def song_of(chart: str, meter: str = "4/4", key: str = "C major", tempo: int = 72) -> Song:
    right, left = _FIGURES[meter]
    return read_song(
        f'format = 1\ntitle = "Low Tide"\nkey = "{key}"\nmeter = "{meter}"\ntempo = {tempo}\n'
        f'right = "{right}"\nleft = "{left}"\noutside = 0.2\nanticipation = 0.2\n'
        f'[[section]]\nname = "Verse"\nchart = "{chart}"\n'
    )


def performed(song: Song, playing: Playing) -> tuple[Part, bytes]:
    """The song's part and a MIDI file of somebody playing it, velocities and lengths uneven."""
    part = arrange(song, analyse(song))
    rng = random.Random(playing.seed)
    quarter = 60 / song.tempo / float(song.meter.beat * 4)
    rate = _TICKS / quarter if playing.click else 2 * _TICKS

    def seconds(place: float) -> float:
        return quarter * (4 * place + 4 * playing.rubato * sin(4 * place / 9))

    events: list[tuple[float, int, mido.Message]] = []
    for note in part.notes:
        track = 0 if playing.together or note.hand is Hand.RIGHT else 1
        begin = max(0.0, seconds(float(note.onset)) + rng.gauss(0, playing.jitter))
        end = max(begin + 0.05, seconds(float(note.end)) - 0.08 * rng.random())
        velocity = rng.randrange(40, 100)
        key = note.pitch.midi
        events.append((begin, track, mido.Message("note_on", note=key, velocity=velocity)))
        events.append((end, track, mido.Message("note_off", note=key)))
    for mark in part.pedal if playing.pedal else ():
        late, value = (0.12, 127) if mark.down else (0.01, 0)
        moved = mido.Message("control_change", control=64, value=value)
        events.append((seconds(float(mark.onset)) + late, 0, moved))
    file = mido.MidiFile(type=1, ticks_per_beat=_TICKS)
    head = file.add_track()
    head.append(mido.MetaMessage("set_tempo", tempo=round(_TICKS / rate * 1_000_000)))
    if playing.meter:
        signature = {"numerator": song.meter.count, "denominator": song.meter.unit}
        head.append(mido.MetaMessage("time_signature", **signature))
    for number in range(1 if playing.together else 2):
        track = file.add_track()
        last = 0
        own = [event for event in events if event[1] == number]
        for at, _, message in sorted(own, key=lambda event: (event[0], event[2].type)):
            tick = max(last, round(at * rate))
            track.append(message.copy(time=tick - last))
            last = tick
    buffer = io.BytesIO()
    file.save(file=buffer)
    return part, buffer.getvalue()
