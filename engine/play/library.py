"""The FluidSynth library: found by pyfluidsynth, complete, and quiet.

pyfluidsynth declares most of the library's functions and fails silently; what it lacks is
declared here. Nothing the C libraries say reaches the screen.
"""

from __future__ import annotations

import contextlib
import ctypes
import io
from collections import deque
from collections.abc import Iterator
from ctypes import CFUNCTYPE, c_char_p, c_float, c_int, c_short, c_uint, c_void_p
from functools import lru_cache
from typing import Any

from engine.errors import SoundError
from engine.play.quiet import hush, quiet

FAILED = -1

_MORE: dict[str, tuple[Any, tuple[Any, ...]]] = {
    "fluid_version_str": (c_char_p, ()),
    "fluid_set_log_function": (c_void_p, (c_int, c_void_p, c_void_p)),
    "fluid_settings_foreach_option": (None, (c_void_p, c_char_p, c_void_p, c_void_p)),
    "fluid_synth_set_gain": (None, (c_void_p, c_float)),
    "fluid_synth_write_float": (
        c_int,
        (c_void_p, c_int, c_void_p, c_int, c_int, c_void_p, c_int, c_int),
    ),
}
#: The sequencer's functions, called with Python's lock held: they take no time, and giving the
#: lock away at each would let busy threads delay a plan by milliseconds a call. The library must
#: not call back into Python meanwhile: see `Library.listen`.
_PROMPT: dict[str, tuple[Any, tuple[Any, ...]]] = {
    "new_fluid_event": (c_void_p, ()),
    "fluid_event_set_source": (None, (c_void_p, c_short)),
    "fluid_event_set_dest": (None, (c_void_p, c_short)),
    "fluid_event_noteon": (None, (c_void_p, c_int, c_short, c_short)),
    "fluid_event_noteoff": (None, (c_void_p, c_int, c_short)),
    "fluid_event_control_change": (None, (c_void_p, c_int, c_short, c_int)),
    "fluid_sequencer_send_at": (c_int, (c_void_p, c_void_p, c_uint, c_int)),
    "fluid_sequencer_remove_events": (None, (c_void_p, c_short, c_short, c_int)),
    "fluid_sequencer_get_tick": (c_uint, (c_void_p,)),
    "delete_fluid_event": (None, (c_void_p,)),
}
_LOG = CFUNCTYPE(None, c_int, c_char_p, c_void_p)
OPTION = CFUNCTYPE(None, c_void_p, c_char_p, c_char_p)

LIBRARY_CURE = "install FluidSynth ('alberti doctor' says how), or play with --sound none"


class Library:
    """The loaded library: its functions by their own names. `said` holds what it last said."""

    def __init__(self) -> None:
        hush()
        # pyfluidsynth prints where it found the library when CI is set.
        try:
            with contextlib.redirect_stdout(io.StringIO()):
                import fluidsynth
        except (ImportError, OSError, AttributeError) as error:
            raise SoundError(f"FluidSynth is not there ({error})", LIBRARY_CURE) from error
        self.path = str(fluidsynth.lib)
        self.said: deque[str] = deque(maxlen=40)
        self._declared = fluidsynth
        self._bound = {
            **self._bind(ctypes.CDLL(self.path), _MORE),
            **self._bind(ctypes.PyDLL(self.path), _PROMPT),
        }
        self._log = _LOG(self._say)
        self._hear(None)

    def _bind(self, loaded: ctypes.CDLL, table: dict[str, Any]) -> dict[str, Any]:
        found = {}
        for name, (result, arguments) in table.items():
            try:
                function = loaded[name]
            except AttributeError as error:
                raise SoundError(
                    f"FluidSynth at {self.path} is too old: it has no {name}", LIBRARY_CURE
                ) from error
            function.restype, function.argtypes = result, arguments
            found[name] = function
        return found

    def __getattr__(self, name: str) -> Any:
        bound = self.__dict__.get("_bound", {})
        return bound[name] if name in bound else getattr(self._declared, name)

    def _say(self, _level: int, text: bytes | None, _data: object) -> None:
        self.said.append((text or b"").decode(errors="replace").strip())

    def _hear(self, handler: Any) -> None:
        for level in range(5):
            self._bound["fluid_set_log_function"](level, handler, None)

    @contextlib.contextmanager
    def listen(self) -> Iterator[deque[str]]:
        """While it lasts, what the libraries say is kept in `said`; else it is dropped.

        It is for opening and closing only. While it plays, a message from the
        thread that makes the sound would wait for Python's lock.
        """
        self.said.clear()
        self._hear(ctypes.cast(self._log, c_void_p))
        quiet.heard = self.said.append
        try:
            yield self.said
        finally:
            self._hear(None)
            quiet.heard = None

    @property
    def version(self) -> str:
        return str(self.fluid_version_str().decode())


@lru_cache(maxsize=1)
def _loaded() -> Library | SoundError:
    """The library, or why it is missing: it is looked for once, since that takes long."""
    try:
        return Library()
    except SoundError as error:
        return error


def library() -> Library:
    """The system's FluidSynth, loaded once. Raises SoundError where it is missing."""
    found = _loaded()
    if isinstance(found, SoundError):
        raise SoundError(found.message, found.cure)
    return found
