"""What is not saved yet, kept beside the song in the state folder, and found again after a crash.

One small file for each running workshop: the song's path, the text of the song
as it stands, the text of the file it came from, and the line being typed.
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass, replace
from pathlib import Path

from platformdirs import user_state_path

from engine.errors import AlbertiError
from engine.song import Song, read_song
from engine.workshop.files import text_of, write_atomically
from engine.workshop.history import change
from engine.workshop.running import runs
from engine.workshop.work import Cursor, Entry, EntryKind, Extent, Notice, Work

_ENDING = ".journal.json"


@dataclass(frozen=True, slots=True)
class Journal:
    """Where one workshop keeps what is not saved: a folder and the process that writes."""

    folder: Path
    process: int

    @classmethod
    def usual(cls) -> Journal:
        """In the user's state folder, for this process."""
        return cls(user_state_path("alberti"), os.getpid())

    def _name(self, path: str) -> str:
        return hashlib.sha256(str(Path(path).resolve()).encode() if path else b"").hexdigest()[:16]

    def _file(self, path: str) -> Path:
        return self.folder / f"{self._name(path)}-{self.process}{_ENDING}"

    def keep(self, work: Work) -> None:
        """Write down what is not saved, or take the note away where all is. Raises FileError."""
        file = self._file(work.path)
        if not work.edited and work.entry is None:
            file.unlink(missing_ok=True)
            return
        self.folder.mkdir(parents=True, exist_ok=True)
        entry = work.entry
        note = {
            "path": work.path,
            "song": text_of(work),
            "file": work.text,
            "cursor": list(work.cursor),
            "entry": entry and _noted(entry),
        }
        write_atomically(str(file), json.dumps(note, ensure_ascii=False))

    def drop(self, work: Work) -> None:
        """Take the note away: the writer saved, or chose to leave without."""
        self._file(work.path).unlink(missing_ok=True)

    def left_behind(self, path: str) -> Path | None:
        """The newest note about a song whose workshop no longer runs, if any.

        One under this process's own number is of a former process that had it.
        """
        if not self.folder.is_dir():
            return None
        notes = [
            file
            for file in self.folder.glob(f"{self._name(path)}-*{_ENDING}")
            if _process(file) == self.process or not runs(_process(file))
        ]
        return max(notes, key=lambda file: file.stat().st_mtime, default=None)

    def recover(self, work: Work) -> Work:
        """The work with what a workshop that died had not saved, as an edit that undo takes back.

        A note that cannot be read is set aside, never deleted.
        """
        file = self.left_behind(work.path)
        if file is None:
            return work
        try:
            note = json.loads(file.read_text(encoding="utf-8"))
            song: Song = read_song(note["song"], work.path)
            cursor = Cursor(*map(int, note["cursor"]))
            same_file = note["file"] == work.text
            entry = _entry(note["entry"])
        except (OSError, ValueError, KeyError, TypeError, AlbertiError):
            aside = file.with_suffix(".unread")
            file.replace(aside)
            return replace(work, notice=Notice(f"A note of unsaved work cannot be read: {aside}"))
        found = change(work, song, "Recovered what was not saved", cursor=cursor)
        if song == work.song and entry is None:
            file.unlink(missing_ok=True)
            return work
        told = "Recovered what was not saved; u goes back to the file"
        if not same_file:
            told = "Recovered; the file has changed: u shows it, s replaces it"
        again = replace(found, entry=entry, notice=Notice(told))
        self.keep(again)
        if file != self._file(work.path):
            file.unlink(missing_ok=True)
        return again


def _noted(entry: Entry) -> list[object]:
    return [entry.kind, entry.text, list(entry.at), entry.name, entry.extent, entry.last]


def _entry(note: list[object] | None) -> Entry | None:
    if note is None:
        return None
    kind, text, at, name, extent, last = note
    assert isinstance(at, list)
    words = str(text)
    return Entry(
        EntryKind(str(kind)),
        words,
        len(words),
        Cursor(*map(int, at)),
        name=str(name),
        extent=Extent(str(extent)),
        last=int(str(last)),
    )


def _process(file: Path) -> int:
    digits = file.name.removesuffix(_ENDING).rpartition("-")[2]
    return int(digits) if digits.isdigit() else 0
