"""FluidSynth itself: the functions of the system library, found by pyfluidsynth, quiet and checked.

pyfluidsynth declares most of the library's functions and fails silently; what it lacks is
declared in `_MORE`, and everything that may fail raises `SoundError` here.
"""

from __future__ import annotations

import contextlib
import ctypes
import io
import os
from collections import deque
from ctypes import CFUNCTYPE, c_char_p, c_float, c_int, c_short, c_void_p
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from engine.errors import SoundError

FAILED = -1
#: One block of the synthesizer, in frames: a note can only begin at the start of one.
BLOCK = 64
RATE = 44100

_MORE: dict[str, tuple[Any, tuple[Any, ...]]] = {
    "fluid_version_str": (c_char_p, ()),
    "fluid_set_log_function": (c_void_p, (c_int, c_void_p, c_void_p)),
    "fluid_settings_foreach_option": (None, (c_void_p, c_char_p, c_void_p, c_void_p)),
    "fluid_synth_get_polyphony": (c_int, (c_void_p,)),
    "fluid_synth_set_gain": (None, (c_void_p, c_float)),
    "fluid_synth_write_float": (
        c_int,
        (c_void_p, c_int, c_void_p, c_int, c_int, c_void_p, c_int, c_int),
    ),
    "fluid_event_control_change": (None, (c_void_p, c_int, c_short, c_int)),
    "fluid_event_program_change": (None, (c_void_p, c_int, c_int)),
    "fluid_sequencer_remove_events": (None, (c_void_p, c_short, c_short, c_int)),
    "fluid_sfont_iteration_start": (None, (c_void_p,)),
    "fluid_sfont_iteration_next": (c_void_p, (c_void_p,)),
    "fluid_preset_get_banknum": (c_int, (c_void_p,)),
    "fluid_preset_get_num": (c_int, (c_void_p,)),
    "fluid_synth_get_sfont_by_id": (c_void_p, (c_void_p, c_int)),
    "fluid_preset_get_name": (c_char_p, (c_void_p,)),
    "fluid_is_soundfont": (c_int, (c_char_p,)),
}
_LOG = CFUNCTYPE(None, c_int, c_char_p, c_void_p)
_OPTION = CFUNCTYPE(None, c_void_p, c_char_p, c_char_p)
_ALSA = CFUNCTYPE(None, c_char_p, c_int, c_char_p, c_int, c_char_p)
_JACK = CFUNCTYPE(None, c_char_p)

LIBRARY_CURE = "install FluidSynth ('alberti doctor' says how), or play with --sound none"


class Library:
    """The loaded library. `said` holds the last lines it and ALSA would have printed."""

    def __init__(self) -> None:
        # pyfluidsynth prints where it found the library when CI is set.
        try:
            with contextlib.redirect_stdout(io.StringIO()):
                import fluidsynth
        except (ImportError, OSError, AttributeError) as error:
            raise SoundError(f"FluidSynth is not there ({error})", LIBRARY_CURE) from error
        self.path = str(fluidsynth.lib)
        self._declared = fluidsynth
        self._more = ctypes.CDLL(fluidsynth.lib)
        self.said: deque[str] = deque(maxlen=40)
        self._kept: list[Any] = []
        for name, (result, arguments) in _MORE.items():
            function = getattr(self._more, name, None)
            if function is None:
                raise SoundError(
                    f"FluidSynth at {self.path} is too old: it has no {name}", LIBRARY_CURE
                )
            function.restype, function.argtypes = result, arguments
        self._hush()

    def __getattr__(self, name: str) -> Any:
        if name in _MORE:
            return getattr(self._more, name)
        return getattr(self._declared, name)

    @property
    def version(self) -> str:
        return str(self.fluid_version_str().decode())

    def _hush(self) -> None:
        """Take over every way in which the C libraries would print to the screen."""

        def said(_level: int, text: bytes | None, _data: object) -> None:
            self.said.append((text or b"").decode(errors="replace").strip())

        def alsa(_file: object, _line: int, _name: object, _error: int, form: bytes) -> None:
            self.said.append("ALSA: " + (form or b"").decode(errors="replace").strip())

        def jack(text: bytes) -> None:
            self.said.append("JACK: " + (text or b"").decode(errors="replace").strip())

        log = _LOG(said)
        self._kept.append(log)
        for level in range(5):
            self.fluid_set_log_function(level, ctypes.cast(log, c_void_p), None)
        os.environ.setdefault("JACK_NO_START_SERVER", "1")
        others: tuple[tuple[str, tuple[str, ...], Any], ...] = (
            ("libasound.so.2", ("snd_lib_error_set_handler",), _ALSA(alsa)),
            ("libjack.so.0", ("jack_set_error_function", "jack_set_info_function"), _JACK(jack)),
        )
        for file, setters, handler in others:
            try:
                library = ctypes.CDLL(file)
            except OSError:
                continue
            self._kept += [library, handler]
            for name in setters:
                setter = getattr(library, name)
                setter.restype, setter.argtypes = c_int, (c_void_p,)
                setter(ctypes.cast(handler, c_void_p))

    def last_said(self) -> str:
        """The last thing the library complained of, or nothing."""
        return self.said[-1] if self.said else ""


@lru_cache(maxsize=1)
def library() -> Library:
    """The system's FluidSynth, loaded once. Raises SoundError where it is missing."""
    return Library()


@dataclass(frozen=True, slots=True)
class Voice:
    """How the piano sounds: bank and program (0 is the acoustic grand), gain, reverb.

    `room`, `damp` and `level` are 0–1 as FluidSynth takes them; `level` 0 turns reverb off.
    """

    bank: int = 0
    program: int = 0
    gain: float = 0.5
    room: float = 0.4
    damp: float = 0.3
    level: float = 0.25


class Synth:
    """A synthesizer with one soundfont loaded. Close it after use."""

    def __init__(
        self,
        soundfont: str,
        voice: Voice | None = None,
        settings: dict[str, str | int | float] | None = None,
    ) -> None:
        voice = voice or Voice()
        self.lib = library()
        self._settings = self.lib.new_fluid_settings()
        chosen: dict[str, str | int | float] = {
            "synth.sample-rate": float(RATE),
            "synth.chorus.active": 0,
            "synth.reverb.active": int(voice.level > 0),
            "synth.gain": voice.gain,
            "synth.polyphony": 256,
            "synth.cpu-cores": 1,
            "synth.midi-channels": 16,
            "synth.min-note-length": 0,
            **(settings or {}),
        }
        for name, value in chosen.items():
            self.set(name, value)
        self._synth = self.lib.new_fluid_synth(self._settings)
        self._driver: int | None = None
        if not self._synth:
            self.lib.delete_fluid_settings(self._settings)
            raise SoundError("FluidSynth could not start", self.lib.last_said() or LIBRARY_CURE)
        self.lib.fluid_synth_set_reverb(self._synth, voice.room, voice.damp, 0.8, voice.level)
        self.soundfont = self.lib.fluid_synth_sfload(self._synth, soundfont.encode(), 1)
        if self.soundfont == FAILED:
            said = self.lib.last_said()
            self.close()
            raise SoundError(
                f"the soundfont {soundfont} cannot be loaded" + (f" ({said})" if said else ""),
                "choose another with ALBERTI_SOUNDFONT; 'alberti doctor' lists those found",
            )
        for channel in (0, 1):
            found = self.lib.fluid_synth_program_select(
                self._synth, channel, self.soundfont, voice.bank, voice.program
            )
            if found == FAILED:
                self.lib.fluid_synth_program_change(self._synth, channel, voice.program)

    @property
    def handle(self) -> int:
        return int(self._synth)

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
        self.lib.said.clear()
        self.set("audio.driver", driver)
        made = self.lib.new_fluid_audio_driver(self._settings, self._synth)
        if not made:
            said = "; ".join(dict.fromkeys(self.lib.said)) or "it gave no reason"
            raise SoundError(f"{driver}: {said}")
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

    each = _OPTION(option)
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
