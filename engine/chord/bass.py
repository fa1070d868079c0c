"""The bass a symbol names, in every way practice writes it."""

from __future__ import annotations

import re

from engine.pitch import NOTE_PATTERN

_WORD = r"(?:[ -]?[Bb]ass)?"
# `C/E`, `C / E`, `C/E bass`, `C/(E)`, `C(/E)`, `C(onE)`, `C(bass E)`, `C(E bass)`, `ConE`.
_BASS = re.compile(
    rf"/ {{0,3}}(?:({NOTE_PATTERN}){_WORD}|\(({NOTE_PATTERN}){_WORD}\))$"
    rf"|\((?:(?:/|on|[Bb]ass) ?({NOTE_PATTERN})|({NOTE_PATTERN})[ -]?[Bb]ass)\)$"
    rf"|on ?({NOTE_PATTERN})$"
)


def find_bass(text: str, start: int, end: int) -> tuple[str, int]:
    """The name of a bass said at the end of `text[start:end]`, and where saying it begins.

    An empty name and the end where none is said.
    """
    if "/" in text or "on" in text or "ass" in text:
        match = _BASS.search(text, start, end)
        if match is not None:
            return match[match.lastindex or 0], match.start()
    return "", end
