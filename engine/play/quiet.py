"""Keeping ALSA and JACK from printing on the screen, which other libraries open on our behalf."""

from __future__ import annotations

import ctypes
import os
from collections.abc import Callable
from ctypes import CFUNCTYPE, c_char_p, c_int, c_void_p
from functools import lru_cache
from typing import Any

_ALSA = CFUNCTYPE(None, c_char_p, c_int, c_char_p, c_int, c_char_p)
_JACK = CFUNCTYPE(None, c_char_p)
Hear = Callable[[str], object]


class _Quiet:
    """What is to become of the lines: handed to `heard` while it is set, else dropped."""

    heard: Hear | None = None


quiet = _Quiet()


def _alsa(_file: bytes, _line: int, _name: bytes, _error: int, form: bytes) -> None:
    if quiet.heard:
        quiet.heard("ALSA: " + (form or b"").decode(errors="replace").strip())


def _jack(text: bytes) -> None:
    if quiet.heard:
        quiet.heard("JACK: " + (text or b"").decode(errors="replace").strip())


_HANDLERS: tuple[tuple[str, tuple[str, ...], Any], ...] = (
    ("libasound.so.2", ("snd_lib_error_set_handler",), _ALSA(_alsa)),
    ("libjack.so.0", ("jack_set_error_function", "jack_set_info_function"), _JACK(_jack)),
)


@lru_cache(maxsize=1)
def hush() -> tuple[ctypes.CDLL, ...]:
    """Take over ALSA's and JACK's error lines, where they are; JACK starts no server for us."""
    os.environ.setdefault("JACK_NO_START_SERVER", "1")
    found = []
    for file, setters, handler in _HANDLERS:
        try:
            library = ctypes.CDLL(file)
        except OSError:
            continue
        for name in setters:
            setter = library[name]
            setter.restype, setter.argtypes = c_int, (c_void_p,)
            setter(ctypes.cast(handler, c_void_p))
        found.append(library)
    return tuple(found)
