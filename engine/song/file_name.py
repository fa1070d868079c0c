"""Names that a song's file cannot have: those with the ending of another kind of file."""

from __future__ import annotations

from pathlib import Path

from engine.errors import FileError

_KINDS = {
    "MIDI": (".mid", ".midi", ".smf", ".kar"),
    "score": (".musicxml", ".mxl", ".xml", ".abc", ".pdf", ".svg", ".png"),
    "sound": (".wav", ".flac", ".ogg", ".mp3"),
    "Markdown": (".md",),
}
_KIND = {ending: kind for kind, endings in _KINDS.items() for ending in endings}


def refuse_other_kind(path: str | Path) -> None:
    """Raise FileError for a name that says MIDI, score or sound, as a song file is none."""
    ending = Path(path).suffix
    if kind := _KIND.get(ending.lower()):
        raise FileError(
            f"“{path}” has the ending of a {kind} file, and a song file is to be written",
            "end its name in .toml",
        )
