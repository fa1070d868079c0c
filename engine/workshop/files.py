"""The song's file: read it, write it whole or not at all, never over another's change unasked."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

from engine.errors import FileError
from engine.song import read_file, read_song, write_song
from engine.song.file_name import refuse_other_kind
from engine.whole import whole_file
from engine.workshop.work import Notice, Work, open_work


def open_file(path: str) -> Work:
    """The work on a song file. Raises FileError, or the error of what the file holds."""
    text = read_file(path)
    return open_work(read_song(text, path), path=path, text=text)


def text_of(work: Work) -> str:
    """The file's text for the present song, comments and order kept."""
    return write_song(work.song, work.draft or work.text or None)


def write_atomically(path: str, text: str) -> None:
    """The whole text in the file or, on any failure, the file as it was. Raises FileError."""
    with (
        whole_file(path, "choose another place with “save as”") as part,
        part.open("w", encoding="utf-8", newline="") as file,
    ):
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


def changed_on_disk(work: Work, path: str) -> bool:
    """Whether the file is not as this work last read or wrote it."""
    file = Path(path).expanduser()
    if not file.exists():
        return False
    if path != work.path:
        return True
    try:
        return read_file(file) != work.text
    except FileError:
        return True


def _with_ending(path: str) -> str:
    place = Path(path).expanduser()
    whole = place.suffix or place.name in ("", "..") or path.endswith(os.sep) or place.is_dir()
    return path if whole else f"{path}.toml"


def save(work: Work, path: str, *, force: bool = False) -> Work:
    """The work with its song in the file, or with a notice of why not.

    A file that changed meanwhile, or that another song owns, is written over
    only with `force`. A new name without an ending gets `.toml`. Raises FileError where it
    cannot be written, and for the name of another kind of file.
    """
    if path != work.path:
        path = _with_ending(path)
        refuse_other_kind(path)
    if not force and changed_on_disk(work, path):
        what = "changed on disk" if path == work.path else "exists already"
        notice = Notice(f"“{Path(path).name}” {what}: save once more to write over it")
        return replace(work, notice=notice, overwrite=path)
    text = text_of(work)
    write_atomically(path, text)
    return replace(
        work,
        path=path,
        text=text,
        draft="",
        saved=work.song,
        overwrite="",
        leaving=False,
        notice=Notice(f"Saved in {path}"),
    )
