"""Any file that can be imported, told by its ending or its first bytes."""

from __future__ import annotations

from pathlib import Path

from engine.errors import FileError, Place
from engine.exchange.read.guard import decoded, read_bytes, unpacked
from engine.exchange.read.source import Imported, Source

MIDI = (".mid", ".midi", ".smf", ".kar")
PACKED = (".mxl",)
XML = (".musicxml", ".xml")
ABC = (".abc",)
_SONG_LINES = (b"format = ", b"[[section]]")
TEXT = (".txt", ".crd", ".chords", ".cho", ".chordpro", ".pro", ".md")


def import_file(path: str | Path) -> Imported:
    """The song of a MIDI, MusicXML, ABC or chord-text file and the report of its import.

    Raises FileError, or another InputError with its place, where it cannot be read.
    """
    return import_bytes(read_bytes(path), str(path))


def import_bytes(data: bytes, name: str = "") -> Imported:
    """As `import_file`, for bytes that go by a name."""
    from engine.exchange.read.to_song import to_song

    source = read_source(data, name)
    if not source.title and name:
        source.title = Path(name).stem.replace("_", " ").replace("-", " ").strip()
    return to_song(source, name)


def read_source(data: bytes, name: str = "") -> Source:
    """What a file holds, before it is made a song."""
    kind = _kind(data, name)
    if kind == "midi":
        from engine.exchange.read.midi import read_midi

        return read_midi(data, name)
    if kind in ("packed", "xml"):
        from engine.exchange.read.musicxml import read_musicxml

        return read_musicxml(unpacked(data, name) if kind == "packed" else data, name)
    text = decoded(data, name)
    if kind == "abc":
        from engine.exchange.read.abc import read_abc_file

        return read_abc_file(text, name)
    from engine.exchange.read.chord_text import read_chord_text

    return read_chord_text(text, name)


def _kind(data: bytes, name: str) -> str:
    ending = Path(name).suffix.lower()
    if not data.strip():
        raise FileError("the file is empty", "import another file", Place(file=name))
    if data[:4] == b"MThd" or ending in MIDI:
        return "midi"
    if data[:4] == b"PK\3\4" or ending in PACKED:
        return "packed"
    start = data[:4096].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    if start[:1] == b"<" or ending in XML:
        return "xml"
    if ending in ABC or start[:2] == b"X:":
        return "abc"
    if all(line in data for line in _SONG_LINES):
        raise FileError("this is a song file already", "open it as it is", Place(file=name))
    if ending in TEXT or b"\0" not in data[:4096]:
        return "text"
    raise FileError(
        "it is none of the files that can be imported",
        "import MIDI, MusicXML, .mxl, ABC or a chord text", Place(file=name),
    )  # fmt: skip
