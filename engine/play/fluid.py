"""FluidSynth as objects: a synthesizer with a soundfont, and its sequencer; failures raise."""

from __future__ import annotations

import ctypes
from ctypes import c_void_p
from dataclasses import dataclass

from engine.errors import SoundError
from engine.play.library import FAILED, LIBRARY_CURE, OPTION, library
from engine.play.message import MELODY, PIANO

#: One block of the synthesizer, in frames: a note can only begin at the start of one.
BLOCK = 64
#: Frames a second.
RATE = 44100
OTHER_CURE = "choose another with ALBERTI_SOUNDFONT; 'alberti doctor' lists those found"


@dataclass(frozen=True, slots=True)
class Voice:
    """How it sounds: the piano's bank and program (0 is the acoustic grand), gain, reverb.

    `melody` is the program of the melody's own sound, counted from 0 (73 is the
    flute, General MIDI).

    `room`, `damp` and `level` are 0–1 as FluidSynth takes them; `level` 0 turns reverb off.
    `soundfont` is a file; empty for the first usable one.
    """

    soundfont: str = ""
    bank: int = 0
    program: int = 0
    gain: float = 1.0
    room: float = 0.4
    damp: float = 0.3
    level: float = 0.25
    melody: int = 73


class Synth:
    """A synthesizer with one soundfont loaded, or none. Close it after use."""

    def __init__(
        self,
        soundfont: str = "",
        voice: Voice | None = None,
        settings: dict[str, str | int | float] | None = None,
    ) -> None:
        voice = voice or Voice()
        self.lib = library()
        self._settings = self.lib.new_fluid_settings()
        chosen: dict[str, str | int | float] = {
            "synth.sample-rate": float(RATE),
            "synth.chorus.active": 0,
            "synth.polyphony": 256,
            "synth.cpu-cores": 1,
            "synth.dynamic-sample-loading": 1,  # a large soundfont would cost its whole size
            "synth.min-note-length": 0,
            **(settings or {}),
        }
        for name, value in chosen.items():
            self.set(name, value)
        self._driver: int | None = None
        with self.lib.listen() as said:
            self._synth = self.lib.new_fluid_synth(self._settings)
            if not self._synth:
                self.lib.delete_fluid_settings(self._settings)
                raise SoundError("FluidSynth could not start", "; ".join(said) or LIBRARY_CURE)
            self._font = 0
            if soundfont:
                self._font = self.lib.fluid_synth_sfload(self._synth, soundfont.encode(), 1)
            if self._font == FAILED:
                self.close()
                why = f" ({said[-1]})" if said else ""
                raise SoundError(f"the soundfont {soundfont} cannot be loaded{why}", OTHER_CURE)
        self.set_voice(voice)

    @property
    def handle(self) -> int:
        return int(self._synth)

    def set_voice(self, voice: Voice) -> None:
        """Take over program, gain and reverb; a program that is not there changes nothing."""
        lib, synth = self.lib, self._synth
        lib.fluid_synth_set_gain(synth, voice.gain)
        lib.fluid_synth_set_reverb(synth, voice.room, voice.damp, 0.8, voice.level)
        lib.fluid_synth_program_select(synth, PIANO, self._font, voice.bank, voice.program)
        lib.fluid_synth_program_select(synth, MELODY, self._font, 0, voice.melody)

    def change_soundfont(self, soundfont: str, voice: Voice) -> None:
        """Sound with another soundfont from now on. Raises SoundError, and keeps the one before."""
        lib, before = self.lib, self._font
        font = lib.fluid_synth_sfload(self._synth, soundfont.encode(), 1)
        if font == FAILED:
            raise SoundError(f"the soundfont {soundfont} cannot be loaded", OTHER_CURE)
        self._font = font
        self.set_voice(voice)
        lib.fluid_synth_sfunload(self._synth, before, 0)

    def set(self, name: str, value: str | float) -> None:
        """Set one of FluidSynth's settings by its own name. Raises SoundError."""
        setter, given = {
            str: (self.lib.fluid_settings_setstr, str(value).encode()),
            int: (self.lib.fluid_settings_setint, value),
            float: (self.lib.fluid_settings_setnum, value),
        }[type(value)]
        if setter(self._settings, name.encode(), given) == FAILED:
            raise SoundError(f"FluidSynth does not take {name} = {value}")

    def start(self, driver: str) -> None:
        """Open an audio driver by name. Raises SoundError with what the libraries said."""
        self.set("audio.driver", driver)
        with self.lib.listen() as said:
            made = self.lib.new_fluid_audio_driver(self._settings, self._synth)
        if not made:
            own = [line for line in said if not line.startswith(("Using", "ALSA:", "JACK:"))]
            why = "; ".join(dict.fromkeys(own or said)) or "it gave no reason"
            raise SoundError(f"{driver}: {why}")
        self._driver = made

    def note_on(self, channel: int, key: int, velocity: int) -> None:
        self.lib.fluid_synth_noteon(self._synth, channel, key, velocity)

    def note_off(self, channel: int, key: int) -> None:
        self.lib.fluid_synth_noteoff(self._synth, channel, key)

    def control(self, channel: int, number: int, value: int) -> None:
        self.lib.fluid_synth_cc(self._synth, channel, number, value)

    def gain(self, value: float) -> None:
        """Change the gain, heard at once."""
        self.lib.fluid_synth_set_gain(self._synth, value)

    def write(self, frames: int, address: int) -> None:
        """Compute stereo frames as interleaved 32-bit floats into memory at an address."""
        self.lib.fluid_synth_write_float(self._synth, frames, address, 0, 2, address, 1, 2)

    def stop(self) -> None:
        """Stop the audio driver, if one runs."""
        if self._driver:
            self.lib.delete_fluid_audio_driver(self._driver)
            self._driver = None

    def close(self) -> None:
        """Stop the driver and free everything; may be called twice."""
        self.stop()
        if self._synth:
            self.lib.delete_fluid_synth(self._synth)
            self.lib.delete_fluid_settings(self._settings)
            self._synth = None


def drivers() -> tuple[str, ...]:
    """The audio drivers this FluidSynth was built with."""
    lib = library()
    settings = lib.new_fluid_settings()
    found: list[str] = []

    def option(_data: object, _name: bytes, value: bytes) -> None:
        found.append(value.decode())

    each = OPTION(option)
    lib.fluid_settings_foreach_option(settings, b"audio.driver", None, ctypes.cast(each, c_void_p))
    lib.delete_fluid_settings(settings)
    return tuple(found)


class Sequencer:
    """FluidSynth's sequencer, run by the synthesizer's own sample count: ticks are milliseconds.

    Make it before the audio driver starts, so that tick 0 is sample 0. Every
    event carries a number of its own (`mark`, 1 to 32000), by which it can be
    taken back.
    """

    def __init__(self, synth: Synth) -> None:
        self._lib = synth.lib
        self._sequencer = self._lib.new_fluid_sequencer2(0)
        if not self._sequencer:
            raise SoundError("FluidSynth's sequencer could not start")
        self._synth = self._lib.fluid_sequencer_register_fluidsynth(self._sequencer, synth.handle)

    @property
    def tick(self) -> int:
        """Milliseconds of sound so far."""
        return int(self._lib.fluid_sequencer_get_tick(self._sequencer))

    def send(self, tick: int, mark: int, kind: str, channel: int, number: int, value: int) -> None:
        """Schedule `on`, `off` or `control` at a tick. Raises SoundError."""
        lib = self._lib
        event = lib.new_fluid_event()
        lib.fluid_event_set_source(event, mark)
        lib.fluid_event_set_dest(event, self._synth)
        if kind == "on":
            lib.fluid_event_noteon(event, channel, number, value)
        elif kind == "off":
            lib.fluid_event_noteoff(event, channel, number)
        else:
            lib.fluid_event_control_change(event, channel, number, value)
        sent = lib.fluid_sequencer_send_at(self._sequencer, event, tick, 1)
        lib.delete_fluid_event(event)
        if sent == FAILED:
            raise SoundError("FluidSynth's sequencer took no more events")

    def remove(self, mark: int) -> None:
        """Take back what is scheduled under a mark and has not sounded."""
        self._lib.fluid_sequencer_remove_events(self._sequencer, mark, -1, -1)

    def close(self) -> None:
        if self._sequencer:
            self._lib.delete_fluid_sequencer(self._sequencer)
            self._sequencer = None
