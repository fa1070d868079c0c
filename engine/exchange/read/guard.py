"""Limits for files from elsewhere: size, packing, entities, nesting; and clear refusals."""

from __future__ import annotations

import io
import re
import stat
import zipfile
import zlib
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import FileError, Place

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

LARGEST = 32 * 1024 * 1024
LARGEST_TEXT = 1024 * 1024
MOST_ELEMENTS = 2_000_000
_MOST_TIMES_SMALLER = 250  # an honest score packs about 30 to 1
_WHOLE = re.compile(r"\s*([+-]?[0-9]{1,9})\s*")


def whole(text: str | None) -> int | None:
    """The whole number of at most nine digits that a text is, else None."""
    found = _WHOLE.fullmatch(text or "")
    return int(found[1]) if found else None


def read_bytes(path: str | Path, largest: int = LARGEST) -> bytes:
    """The bytes of a file. Raises FileError where it is missing or larger than `largest`."""
    place = Place(file=str(path))
    try:
        if stat.S_ISFIFO(Path(path).stat().st_mode):  # opening one would wait for its writer
            raise FileError("this is a pipe, not a file", "give - and pipe into the program", place)
        with Path(path).open("rb") as file:
            data = file.read(largest + 1)
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else None
        raise FileError(
            f"the file cannot be read: {why or error}",
            "name a file that is there",
            place,
        ) from None
    if len(data) > largest:
        raise FileError(
            f"the file is larger than {largest // 1024 // 1024} MB", "import a smaller one", place
        )
    return data


def unpacked(data: bytes, file: str = "") -> bytes:
    """The score in a `.mxl` container. Raises FileError where it is none or unpacks too large."""
    place = Place(file=file)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = archive.namelist()
            root = "META-INF/container.xml"
            if root in names:
                container = parse_xml(_member(archive, root, file), file)
                entry = next(
                    (
                        node.get("full-path") or ""
                        for node in container.iter()
                        if isinstance(node.tag, str) and node.tag.endswith("rootfile")
                    ),
                    "",
                )
            else:
                entry = next((n for n in names if n.lower().endswith((".xml", ".musicxml"))), "")
            if entry not in names:
                raise FileError(
                    "the packed file names no score", "save it again as .mxl or .musicxml", place
                )
            return _member(archive, entry, file)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, OSError, EOFError, RuntimeError,
            NotImplementedError, ValueError, zlib.error) as error:  # fmt: skip
        raise FileError(
            f"the packed file cannot be opened: {error}", "save it again as .mxl", place
        ) from None


def _member(archive: zipfile.ZipFile, name: str, file: str) -> bytes:
    info = archive.getinfo(name)
    packed = max(1, info.compress_size)
    if info.file_size > LARGEST or info.file_size / packed > _MOST_TIMES_SMALLER:
        raise _too_large(file)
    with archive.open(info) as member:
        data = member.read(LARGEST + 1)
    if len(data) > LARGEST:
        raise _too_large(file)
    return data


def _too_large(file: str) -> FileError:
    return FileError(
        "the packed file would unpack to far more than a score holds",
        "unpack it elsewhere and import the .musicxml",
        Place(file=file),
    )


def parse_xml(data: bytes, file: str = "") -> Element:
    """The root of an XML document without entities, DTDs or the net.

    Raises FileError with line and column where it is not well formed, and where
    it declares entities.
    """
    from lxml import etree

    if len(data) > LARGEST:
        raise FileError("the file is larger than 32 MB", "import a smaller one", Place(file=file))
    head = data[:8192].replace(b"\0", b"")
    if b"<!ENTITY" in head or b"<!ENTITY" in data.replace(b"\0", b""):
        raise FileError(
            "it declares entities, which no score needs", "remove the <!ENTITY …> lines",
            _place(data, file),
        )  # fmt: skip
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False,
        remove_comments=True, remove_pis=True,
    )  # fmt: skip
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        line, column = error.position
        raise FileError(
            f"it is no well-formed XML: {error.msg}",
            "save it again as MusicXML",
            Place(max(1, column), 1, max(1, line), file=file),
        ) from None
    except ValueError as error:
        raise FileError(f"it is no XML: {error}", "save it again", Place(file=file)) from None
    for count, _ in enumerate(root.iter(), start=1):
        if count > MOST_ELEMENTS:
            raise FileError(
                f"more than {MOST_ELEMENTS:,} elements", "import a part of it", Place(file=file)
            )
    return root


def _place(data: bytes, file: str) -> Place:
    at = max(0, data.find(b"<!ENTITY"))
    line = data.count(b"\n", 0, at) + 1
    return Place(at - data.rfind(b"\n", 0, at), 8, line, file=file)


def decoded(data: bytes, file: str = "") -> str:
    """Text in UTF-8 (with or without its mark), UTF-16, or else Latin 1. Raises FileError."""
    if len(data) > LARGEST_TEXT:
        raise FileError("the text is larger than 1 MB", "import a shorter one", Place(file=file))
    for encoding in ("utf-8-sig", "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    if b"\0" in data:
        raise FileError("it is no text", "import a text, MIDI or MusicXML file", Place(file=file))
    return data.decode("latin-1")
