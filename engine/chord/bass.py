"""The bass a symbol names, in every way practice writes it."""

from __future__ import annotations

import re
from typing import NamedTuple

from engine.pitch import NOTE_PATTERN

_WORD = r"(?:[ -]?[Bb]ass)?"
# `C/E`, `C / E`, `C/E bass`, `C/(E)`, `C(/E)`, `C(onE)`, `C(bass E)`, `C(E bass)`, `ConE`.
_BASS = re.compile(
    rf"/ {{0,3}}(?:({NOTE_PATTERN}){_WORD}|\(({NOTE_PATTERN}){_WORD}\))$"
    rf"|\((?:(?:/|on|[Bb]ass) ?({NOTE_PATTERN})|({NOTE_PATTERN})[ -]?[Bb]ass)\)$"
    rf"|on ?({NOTE_PATTERN})$"
)


class Bass(NamedTuple):
    """The name of a bass and where in the symbol it begins to be said."""

    name: str
    start: int


def find_bass(text: str, start: int, end: int) -> Bass | None:
    """The bass said at the end of `text[start:end]`, or None."""
    if "/" not in text and "on" not in text and "ass" not in text:
        return None
    match = _BASS.search(text, start, end)
    if match is None:
        return None
    return Bass(match[match.lastindex or 0], match.start())
