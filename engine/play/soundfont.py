"""Soundfonts: where they are looked for, what is in them, and whether they can be trusted."""

from __future__ import annotations

import os
import platform
import struct
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import BinaryIO

import shared
from engine.errors import SoundError

VARIABLE = "ALBERTI_SOUNDFONT"
ENDINGS = (".sf2", ".sf3", ".SF2", ".SF3")
CURE = (
    f"install one (Debian: sudo apt install fluid-soundfont-gm), or name one in {VARIABLE}; "
    "'alberti doctor' says where they are looked for"
)
_PROBE_SECONDS = 20.0
_PROBE = "import sys; from engine.play.soundfont import load_once; load_once(sys.argv[1])"


@dataclass(frozen=True, slots=True)
class SoundFont:
    """A soundfont's file and what it says of itself; texts may be empty.

    `licence` is a known soundfont's licence and the file's own copyright line;
    `problem` says what is wrong with the file.
    """

    path: Path
    size: int
    title: str = ""
    author: str = ""
    licence: str = ""
    problem: str = ""


def own_folder() -> Path:
    """Where the user's own soundfonts go: `soundfonts` in the data folder of the platform."""
    from platformdirs import user_data_path

    return user_data_path("alberti") / "soundfonts"


def folders(environment: Mapping[str, str] = os.environ, system: str = "") -> list[Path]:
    """Where soundfonts are looked for, in order."""
    home = Path.home()
    system = system or platform.system()
    found = [own_folder()]
    if system == "Darwin":
        found += [
            home / "Library/Audio/Sounds/Banks",
            Path("/Library/Audio/Sounds/Banks"),
            Path("/opt/homebrew/share/soundfonts"),
            Path("/usr/local/share/soundfonts"),
        ]
    elif system == "Windows":
        roots = [environment.get("PROGRAMDATA", ""), environment.get("LOCALAPPDATA", "")]
        found += [Path(root) / "soundfonts" for root in roots if root]
        found += [Path("C:/soundfonts"), home / "soundfonts"]
    else:
        shares = environment.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share"
        found += [
            Path(share) / place
            for share in shares.split(":")
            if share
            for place in ("soundfonts", "sounds/sf2", "sounds/sf3")
        ]
    return list(dict.fromkeys(found))


def find(environment: Mapping[str, str] = os.environ, places: Iterable[Path] = ()) -> list[Path]:
    """The soundfonts there are, the one to use first; the one named by the user before all.

    Links to one file count once.
    """
    chosen = environment.get(VARIABLE, "")
    seen: dict[Path, Path] = {}
    for folder in places or folders(environment):
        try:
            entries = sorted(folder.iterdir())
        except OSError:
            continue
        for entry in entries:
            if entry.suffix in ENDINGS and entry.is_file():
                seen.setdefault(entry.resolve(), entry.resolve())
    others = sorted(seen.values(), key=_rank)
    return [Path(chosen).expanduser(), *others] if chosen else others


@cache
def _known() -> tuple[tuple[str, str], ...]:
    """(beginning of the file's name, licence) of known soundfonts, the better piano first."""
    table = tomllib.loads(shared.text("tables", "soundfonts.toml"))["soundfont"]
    return tuple((entry["begins"], entry["licence"]) for entry in table)


def _rank(path: Path) -> tuple[int, int, str]:
    name = path.name.lower()
    known = _known()
    place = next((i for i, (begins, _) in enumerate(known) if name.startswith(begins)), len(known))
    return (place, -path.stat().st_size, name)


def describe(path: Path) -> SoundFont:
    """What a soundfont says of itself, from the INFO list of its RIFF file (SoundFont 2.04)."""
    try:
        size = path.stat().st_size
        if not path.is_file():  # a pipe would keep whoever opens it waiting
            what = "a folder" if path.is_dir() else "a device or a pipe"
            return SoundFont(path, 0, problem=f"cannot be read (it is {what})")
        with path.open("rb") as file:
            head = file.read(12)
            if len(head) < 12 or head[:4] != b"RIFF" or head[8:] != b"sfbk":
                return SoundFont(path, size, problem="is no soundfont")
            if struct.unpack("<I", head[4:8])[0] + 8 > size + 1:
                return SoundFont(path, size, problem="is cut short")
            kind, length, form = struct.unpack("<4sI4s", file.read(12))
            info = (
                file.read(min(length - 4, 1 << 20)) if (kind, form) == (b"LIST", b"INFO") else b""
            )
    except (OSError, struct.error) as error:
        why = error.strerror if isinstance(error, OSError) else "it is cut short"
        return SoundFont(path, 0, problem=f"cannot be read ({why})")
    texts: dict[bytes, str] = {}
    at = 0
    while at + 8 <= len(info):
        name, length = struct.unpack_from("<4sI", info, at)
        texts[name] = info[at + 8 : at + 8 + length].split(b"\0")[0].decode("latin-1").strip()
        at += 8 + length + length % 2
    name = path.name.lower()
    known = next((licence for begins, licence in _known() if name.startswith(begins)), "")
    said = ", ".join(filter(None, (known, texts.get(b"ICOP", ""))))
    return SoundFont(path, size, texts.get(b"INAM", ""), texts.get(b"IENG", ""), said)


@dataclass(frozen=True, slots=True, order=True)
class Program:
    """One instrument of a soundfont, by General MIDI's bank and number (both from 0)."""

    bank: int
    number: int
    name: str


def programs(path: Path) -> tuple[Program, ...]:
    """The instruments of a soundfont, sorted, from the preset headers of its RIFF file.

    Empty where the file has none that can be read (SoundFont 2.04, sections 7.1 and 7.2).
    """
    if not path.is_file():
        return ()
    try:
        with path.open("rb") as file:
            rows = _preset_headers(file)
    except (OSError, struct.error):
        return ()
    found = set()
    for at in range(0, len(rows) - 38, 38):  # the last record only ends the list
        name, number, bank = struct.unpack_from("<20sHH", rows, at)
        text = name.split(b"\0")[0].decode("latin-1").strip()
        found.add(Program(bank, number, text))
    return tuple(sorted(found))


def _preset_headers(file: BinaryIO) -> bytes:
    """The chunk `phdr`: the RIFF's lists are skipped but for `pdta`, which it begins."""
    head = file.read(12)
    if head[:4] != b"RIFF" or head[8:] != b"sfbk":
        return b""
    while len(head := file.read(12)) == 12:
        kind, size, form = struct.unpack("<4sI4s", head)
        if (kind, form) == (b"LIST", b"pdta"):
            name, size = struct.unpack("<4sI", file.read(8))
            return file.read(min(size, 1 << 20)) if name == b"phdr" else b""
        file.seek(size - 4 + size % 2, os.SEEK_CUR)
    return b""


def load_once(path: str) -> None:
    """Load a soundfont and sound one note of it: what the probing child process does."""
    import ctypes

    from engine.play.fluid import Synth

    synth = Synth(path)
    buffer = (ctypes.c_float * 8192)()
    synth.note_on(0, 60, 90)
    synth.write(4096, ctypes.addressof(buffer))
    silent = not any(buffer)
    synth.close()
    if silent:
        raise SoundError(f"{path} has no piano sound", CURE)


def probe(path: Path) -> None:
    """Load a soundfont in a child process first: a broken one may crash the library.

    Raises SoundError.
    """
    told = describe(path)
    if told.problem:
        raise SoundError(f"the soundfont {path} {told.problem}", CURE)
    stat = path.stat()
    problem = _problem(path, stat.st_size, stat.st_mtime_ns)
    if problem:
        raise SoundError(f"the soundfont {path} {problem}", CURE)


@lru_cache(maxsize=32)
def _problem(path: Path, _size: int, _changed_ns: int) -> str:
    """What keeps a soundfont from loading, or nothing; asked once for each state of the file."""
    try:
        child = subprocess.run(  # noqa: S603 - our own interpreter and code
            [sys.executable, "-P", "-c", _PROBE, str(path)],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=_PROBE_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return "does not load in time"
    if not child.returncode:
        return ""
    how = f"signal {-child.returncode}" if child.returncode < 0 else "an error"
    return f"is damaged (loading it ended with {how})"


def chosen(asked: str) -> Path:
    """The soundfont asked for, probed, or the first usable one for none. Raises SoundError."""
    if not asked:
        return usable()[0]
    probe(Path(asked))
    return Path(asked)


def usable(environment: Mapping[str, str] = os.environ) -> tuple[Path, list[str]]:
    """The first soundfont that loads, and what is wrong with those before it.

    Raises SoundError where there is none.
    """
    wrong: list[str] = []
    for path in find(environment):
        try:
            probe(path)
        except SoundError as error:
            wrong.append(error.message)
        else:
            return path, wrong
    raise SoundError("; ".join(wrong) or "no soundfont is there", CURE)
