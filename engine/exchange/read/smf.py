"""Standard MIDI File 1.0: bytes to timed messages, with limits and places in errors."""

from __future__ import annotations

from dataclasses import dataclass

from engine.errors import FileError, Place

LARGEST = 16 * 1024 * 1024
MOST_EVENTS = 500_000
MOST_TRACKS = 256
DRUMS = 9  # General MIDI channel 10, counted from 0
_LENGTHS = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}


@dataclass(frozen=True, slots=True)
class Message:
    """A message at a tick from the start: `status` without channel, or 0xFF with `kind`."""

    tick: int
    status: int
    channel: int
    data: bytes
    kind: int = 0


@dataclass(frozen=True, slots=True)
class MidiFile:
    """`division` ticks a quarter; `tracks` in order."""

    format: int
    division: int
    tracks: tuple[tuple[Message, ...], ...]


class _Bytes:
    """A cursor over the file; every error says the byte it came to."""

    def __init__(self, data: bytes, file: str) -> None:
        self.data = data
        self.file = file
        self.at = 0
        self.end = len(data)

    def fail(self, message: str) -> FileError:
        return FileError(
            f"{message} at byte {self.at}",
            "save the file again as a Standard MIDI File, format 0 or 1",
            Place(file=self.file),
        )

    def take(self, count: int) -> bytes:
        if self.at + count > self.end:
            raise self.fail("the file breaks off")
        found = self.data[self.at : self.at + count]
        self.at += count
        return found

    def number(self, count: int) -> int:
        return int.from_bytes(self.take(count), "big")

    def variable(self) -> int:
        """A variable-length quantity of at most four bytes."""
        value = 0
        for _ in range(4):
            byte = self.number(1)
            value = value << 7 | byte & 0x7F
            if not byte & 0x80:
                return value
        raise self.fail("a length of more than four bytes")


def read_smf(data: bytes, file: str = "") -> MidiFile:
    """The messages of a MIDI file. Raises FileError with the byte where it cannot go on."""
    if len(data) > LARGEST:
        raise FileError(
            f"a MIDI file of {len(data):,} bytes", "keep it below 16 MB", Place(file=file)
        )
    cursor = _Bytes(data, file)
    if cursor.end < 14 or cursor.take(4) != b"MThd":
        cursor.at = 0
        raise cursor.fail("this is no MIDI file: it does not begin with MThd")
    length = cursor.number(4)
    if length < 6:
        raise cursor.fail(f"a header of {length} bytes")
    form, count, division = cursor.number(2), cursor.number(2), cursor.number(2)
    cursor.take(length - 6)
    if form > 1:
        raise cursor.fail(f"format {form}, whose tracks are separate pieces,")
    if division & 0x8000 or division == 0:
        raise cursor.fail("time in film frames, not in beats,")
    if count > MOST_TRACKS:
        raise cursor.fail(f"{count} tracks")
    tracks: list[tuple[Message, ...]] = []
    budget = MOST_EVENTS
    while len(tracks) < count and cursor.at < cursor.end:
        kind = cursor.take(4)
        size = cursor.number(4)
        if cursor.at + size > cursor.end:
            raise cursor.fail(f"a track of {size} bytes is cut short")
        if kind == b"MTrk":
            track = _track(data[cursor.at : cursor.at + size], cursor, budget)
            budget -= len(track)
            tracks.append(track)
        cursor.at += size
    return MidiFile(form, division, tuple(tracks))


def _track(data: bytes, outer: _Bytes, budget: int) -> tuple[Message, ...]:
    cursor = _Bytes(outer.data, outer.file)
    cursor.at, cursor.end = outer.at, outer.at + len(data)
    out: list[Message] = []
    tick = 0
    running = 0
    while cursor.at < cursor.end:
        if len(out) >= budget:
            raise cursor.fail(f"more than {MOST_EVENTS:,} events")
        tick += cursor.variable()
        if tick > 2**31:
            raise cursor.fail("the track is too long")
        status = cursor.number(1)
        if status < 0x80:
            if not running:
                raise cursor.fail("a data byte without a message before it")
            status = running
            cursor.at -= 1
        if status == 0xFF:
            kind = cursor.number(1)
            body = cursor.take(cursor.variable())
            out.append(Message(tick, status, 0, body, kind))
            if kind == 0x2F:
                break
            continue
        if status in (0xF0, 0xF7):
            cursor.take(cursor.variable())
            continue
        if status > 0xEF:
            raise cursor.fail(f"the message {status:#x}, which files do not hold,")
        running = status
        body = cursor.take(_LENGTHS[status >> 4])
        if max(body) > 0x7F:
            raise cursor.fail("a data byte above 127")
        out.append(Message(tick, status & 0xF0, status & 0x0F, body))
    return tuple(out)


def text_of(data: bytes) -> str:
    """The text of a message, what cannot be printed left out, at most 200 signs."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    return "".join(sign for sign in text if sign.isprintable()).strip()[:200]
