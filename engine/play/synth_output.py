"""FluidSynth as an output: messages wait on its sequencer, which the sound itself drives."""

from __future__ import annotations

import platform
from collections import deque
from contextlib import suppress

from engine.errors import SoundError
from engine.play.fluid import BLOCK, RATE, Sequencer, Synth, Voice, drivers
from engine.play.message import CONTROL, ON, Message
from engine.play.soundfont import chosen

#: Drivers to try by platform, the likeliest first.
DRIVERS = {
    "Linux": ("pipewire", "pulseaudio", "alsa", "jack", "oss"),
    "Darwin": ("coreaudio",),
    "Windows": ("wasapi", "dsound", "waveout"),
}
_MARKS = 32000


class SynthOutput:
    """A synthesizer playing on a device, or into a file in real time."""

    grid = BLOCK / RATE
    by_soundfont = True

    def __init__(self, voice: Voice, driver: str, file: str = "") -> None:
        """Raises SoundError where driver or soundfont cannot be used."""
        self._asked, self._font = voice.soundfont, chosen(voice.soundfont)
        settings: dict[str, str | float] = {}
        if file:
            settings = {
                "audio.file.name": file,
                "audio.file.type": "wav",
                "audio.period-size": BLOCK,
            }
        self._synth = Synth(str(self._font), voice, settings)
        try:
            self._sequencer = Sequencer(self._synth)
            self._synth.start(driver)
        except SoundError:
            self._synth.close()
            raise
        self._mark = 0
        self._pending: deque[tuple[float, int, int, Message]] = deque()
        self._last_control = -1

    def now(self) -> float:
        return self._sequencer.tick / 1000

    def send(self, at: float, message: Message) -> None:
        """Schedule on the block nearest to the time.

        A tick is a whole millisecond and a block is longer than one, so that
        every block can be named by the last tick before it begins.
        """
        block = round(at / self.grid)
        tick = int(block * BLOCK * 1000 // RATE)
        if message.kind == CONTROL:  # two moves of one controller keep their order
            if tick <= self._last_control:
                tick = self._last_control + 2
            self._last_control = tick
        self._mark = self._mark % _MARKS + 1
        self._pending.append((at, tick, self._mark, message))
        self._sequencer.send(
            tick, self._mark, message.kind, message.channel, message.number, message.value
        )
        now = self._sequencer.tick - 100
        while self._pending and self._pending[0][1] < now:
            self._pending.popleft()

    def cancel(self, at: float) -> None:
        """Take back; what may have begun to sound meanwhile is let go at once."""
        kept = [entry for entry in self._pending if entry[0] < at]
        taken = [entry for entry in self._pending if entry[0] >= at]
        self._pending = deque(kept)
        for _, _, mark, _ in taken:
            self._sequencer.remove(mark)
        now = self._sequencer.tick
        self._last_control = max(
            (entry[1] for entry in kept if entry[3].kind == CONTROL), default=-1
        )
        for _, tick, _, message in taken:
            if tick <= now:
                if message.kind == ON:
                    self._synth.note_off(message.channel, message.number)
                elif message.kind == CONTROL:
                    self._synth.control(message.channel, message.number, 0)

    @property
    def name(self) -> str:
        return f"piano: {self._font.stem}"

    def set_voice(self, voice: Voice) -> None:
        """Another soundfont is loaded while the music goes on; what sounds keeps the old one."""
        if voice.soundfont != self._asked:
            font = chosen(voice.soundfont)
            self._synth.change_soundfont(str(font), voice)
            self._asked, self._font = voice.soundfont, font
        else:
            self._synth.set_voice(voice)

    def close(self) -> None:
        self._synth.stop()
        self._sequencer.close()
        self._synth.close()


def usual_drivers() -> list[str]:
    """The drivers to try here, of those FluidSynth was built with."""
    built = drivers()
    return [driver for driver in DRIVERS.get(platform.system(), built) if driver in built]


def try_driver(driver: str) -> None:
    """Open a driver with nothing to play, and close it again. Raises SoundError with the reason."""
    synth = Synth()
    try:
        synth.start(driver)
    finally:
        synth.close()


def find_driver() -> str:
    """The first driver that opens. Raises SoundError."""
    for driver in usual_drivers():
        with suppress(SoundError):
            try_driver(driver)
            return driver
    raise SoundError("no sound device opens", "'alberti doctor' says why, and how to mend it")
