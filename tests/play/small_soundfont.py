"""A soundfont made on the spot: each key of the piano clicks with one of some waves.

Written as SoundFont 2.04 describes it (Creative Technology, 2006): the chunks INFO, sdta and
pdta with their records in that order, each list ended by a terminal record.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

RATE = 44100
#: Generators of the standard's section 8.1.2.
_KEY_RANGE, _VELOCITY, _SCALE_TUNING, _SAMPLE, _ROOT, _INSTRUMENT = 43, 47, 56, 53, 58, 41
_RELEASE = 38


def tick(hertz: float, seconds: float = 0.03) -> np.ndarray:
    """A short tone that dies away: full at once, so that its beginning is sharp."""
    time = np.arange(int(seconds * RATE)) / RATE
    wave = np.sin(2 * np.pi * hertz * time) * np.exp(-time * 150)
    return np.asarray(wave * 30000, dtype="<i2")


def write_soundfont(
    path: Path, waves: Sequence[np.ndarray], wave_of: Callable[[int], int] = lambda _: 0
) -> None:
    """Write a soundfont whose key `k` sounds as the wave number `wave_of(k)`, at its own pitch."""
    silence = np.zeros(46, "<i2")  # section 6.1: at least 46 zeros follow each sample
    data, spans, at = b"", [], 0
    for wave in waves:
        spans.append((at, at + len(wave)))
        data += wave.tobytes() + silence.tobytes()
        at += len(wave) + len(silence)
    zones = [
        _generator(_KEY_RANGE, key | key << 8)
        + _generator(_RELEASE, 0)
        + _generator(_VELOCITY, 100)
        + _generator(_SCALE_TUNING, 0)
        + _generator(_ROOT, 60)
        + _generator(_SAMPLE, wave_of(key))
        for key in range(128)
    ]
    bags = b"".join(struct.pack("<HH", 6 * number, 0) for number in range(len(zones) + 1))
    headers = b"".join(
        struct.pack("<20sIIIIIBbHH", b"wave %d" % n, a, b, a, b, RATE, 60, 0, 0, 1)
        for n, (a, b) in enumerate(spans)
    )
    phdr = struct.pack("<20sHHHIII", b"Clicks", 0, 0, 0, 0, 0, 0)
    presets = {
        b"phdr": phdr + struct.pack("<20sHHHIII", b"EOP", 0, 0, 1, 0, 0, 0),
        b"pbag": struct.pack("<HHHH", 0, 0, 1, 0),
        b"pmod": bytes(10),
        b"pgen": _generator(_INSTRUMENT, 0) + bytes(4),
        b"inst": struct.pack("<20sH", b"Clicks", 0) + struct.pack("<20sH", b"EOI", len(zones)),
        b"ibag": bags,
        b"imod": bytes(10),
        b"igen": b"".join(zones) + bytes(4),
        b"shdr": headers + b"EOS".ljust(46, b"\0"),
    }
    info = _chunk(b"ifil", struct.pack("<HH", 2, 4)) + _chunk(b"isng", b"EMU8000\0")
    info += _chunk(b"INAM", b"Clicks\0\0")
    body = (
        _list(b"INFO", info)
        + _list(b"sdta", _chunk(b"smpl", data))
        + _list(b"pdta", b"".join(_chunk(name, rows) for name, rows in presets.items()))
    )
    path.write_bytes(_chunk(b"RIFF", b"sfbk" + body))


def _generator(number: int, amount: int) -> bytes:
    return struct.pack("<HH", number, amount)


def _chunk(name: bytes, data: bytes) -> bytes:
    return name + struct.pack("<I", len(data)) + data


def _list(form: bytes, data: bytes) -> bytes:
    return _chunk(b"LIST", form + data)
