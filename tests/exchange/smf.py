"""A reader of Standard MIDI Files written from the standard alone, to check the writer with.

Standard MIDI Files 1.0 (MIDI Manufacturers Association, RP-001): chunks,
variable-length quantities, running status, meta events.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

#: Bytes of data after a channel message's status, by its upper half.
DATA = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}


@dataclass(frozen=True)
class Event:
    """An event at a tick from the start: `meta` is its type or None, `data` its bytes."""

    tick: int
    meta: int | None
    data: bytes


@dataclass(frozen=True)
class File:
    format: int
    division: int
    tracks: tuple[tuple[Event, ...], ...]


def read(data: bytes) -> File:
    """Read a whole file; fails on anything that the standard does not allow."""
    assert data[:4] == b"MThd"
    length, form, count, division = struct.unpack(">IHHH", data[4:14])
    assert length == 6
    at, tracks = 14, []
    for _ in range(count):
        assert data[at : at + 4] == b"MTrk"
        (size,) = struct.unpack(">I", data[at + 4 : at + 8])
        tracks.append(_track(data[at + 8 : at + 8 + size]))
        at += 8 + size
    assert at == len(data), "bytes after the last track"
    return File(form, division, tuple(tracks))


def _quantity(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    for step in range(4):
        byte = data[at + step]
        value = value << 7 | byte & 0x7F
        if not byte & 0x80:
            return value, at + step + 1
    raise AssertionError("a variable-length quantity of more than four bytes")


def _track(data: bytes) -> tuple[Event, ...]:
    at, tick, status = 0, 0, 0
    found: list[Event] = []
    while at < len(data):
        distance, at = _quantity(data, at)
        tick += distance
        if data[at] == 0xFF:
            kind = data[at + 1]
            size, start = _quantity(data, at + 2)
            found.append(Event(tick, kind, data[start : start + size]))
            at, status = start + size, 0
            continue
        if data[at] & 0x80:
            status, at = data[at], at + 1
        assert 0x80 <= status < 0xF0, f"status {status:#x} at byte {at}"
        size = DATA[status >> 4]
        body = data[at : at + size]
        assert all(byte < 0x80 for byte in body)
        found.append(Event(tick, None, bytes([status]) + body))
        at += size
    assert found[-1].meta == 0x2F, "a track ends with its end mark"
    assert sum(event.meta == 0x2F for event in found) == 1
    return tuple(found)


@dataclass(frozen=True)
class Sounded:
    """A note: channel, key, velocity, and its ticks."""

    channel: int
    key: int
    velocity: int
    on: int
    off: int


def notes(track: tuple[Event, ...]) -> list[Sounded]:
    """The notes of a track by onset; fails where one is struck while down, or never let go."""
    down: dict[tuple[int, int], tuple[int, int]] = {}
    found = []
    for event in track:
        if event.meta is not None:
            continue
        kind, channel = event.data[0] >> 4, event.data[0] & 15
        if kind not in (0x8, 0x9):
            continue
        key = (channel, event.data[1])
        if kind == 0x9 and event.data[2]:
            assert key not in down, f"{key} struck twice at {event.tick}"
            down[key] = (event.tick, event.data[2])
        else:
            on, velocity = down.pop(key)
            found.append(Sounded(channel, event.data[1], velocity, on, event.tick))
    assert not down, "notes never let go"
    return sorted(found, key=lambda note: (note.on, note.key))
