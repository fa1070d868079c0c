"""One detail of Ogg files: the encoder draws a stream's serial number by chance.

A file that is to be the same byte for byte gets a fixed one, with the pages'
checksums made anew (RFC 3533).
"""

from __future__ import annotations

import struct
from functools import lru_cache
from pathlib import Path

SERIAL = 1
_POLYNOMIAL = 0x04C11DB7  # RFC 3533, section 6: CRC-32 without reflection, initial value 0


@lru_cache(maxsize=1)
def _table() -> tuple[int, ...]:
    found = []
    for byte in range(256):
        value = byte << 24
        for _ in range(8):
            value = (value << 1) ^ (_POLYNOMIAL if value & 0x80000000 else 0)
        found.append(value & 0xFFFFFFFF)
    return tuple(found)


def checksum(page: bytes) -> int:
    """The CRC of a page whose checksum field is zero."""
    table, value = _table(), 0
    for byte in page:
        value = ((value << 8) & 0xFFFFFFFF) ^ table[(value >> 24) ^ byte]
    return value


def fix_serial(path: Path) -> None:
    """Give every page of an Ogg file with one stream the same serial number."""
    data = bytearray(path.read_bytes())
    at = 0
    while data[at : at + 4] == b"OggS":
        segments = data[at + 26]
        size = 27 + segments + sum(data[at + 27 : at + 27 + segments])
        struct.pack_into("<I", data, at + 14, SERIAL)
        struct.pack_into("<I", data, at + 22, 0)
        struct.pack_into("<I", data, at + 22, checksum(bytes(data[at : at + size])))
        at += size
    path.write_bytes(data)
