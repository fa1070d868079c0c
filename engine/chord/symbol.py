"""The grammar of chord symbols: text to Chord.

A symbol is a root, what follows it (`engine.chord.suffix`) and a bass (`engine.chord.bass`).
"""

from __future__ import annotations

import re
from functools import lru_cache

from engine.chord.bass import find_bass
from engine.chord.brackets import SuffixError
from engine.chord.repair import repaired
from engine.chord.signs import plain_signs
from engine.chord.suffix import read_suffix
from engine.chord.value import Chord
from engine.errors import ChordError, Place
from engine.pitch import NOTE_PATTERN, Note

_ROOT = re.compile(NOTE_PATTERN)
_LONGEST_SHOWN = 24
_NO_CHORD = frozenset(
    {
        "N.C.", "NC", "N.C", "n.c.", "nc", "N", "N/C", "n/c", "N. C.",
        "no chord", "No chord", "No Chord", "NO CHORD",
    }
)  # fmt: skip


def is_no_chord(text: str) -> bool:
    """Whether a symbol says that no chord sounds (`N.C.`)."""
    said = text.strip()
    return said in _NO_CHORD or (said[:1] == "(" and said[-1:] == ")" and said[1:-1] in _NO_CHORD)


def parse_chord(text: str) -> Chord:
    """Read a chord symbol.

    Raises ChordError with the span that cannot be read and the nearest symbol.
    """
    return _parse(text)


@lru_cache(maxsize=8192)
def _parse(text: str) -> Chord:
    plain, places = (text, None) if text.isascii() else plain_signs(text)
    try:
        return _read(plain)
    except SuffixError as error:
        start, stop = error.start, error.stop
        if places is not None:
            start, stop = places[start], places[stop - 1] + 1
        raise _placed(error, text, plain, start, stop) from None


def _read(plain: str) -> Chord:
    """The chord of a symbol in plain signs. Raises SuffixError, its place in the symbol."""
    start, end = len(plain) - len(plain.lstrip()), len(plain.rstrip())
    match = _ROOT.match(plain, start, end)
    if not match:
        raise _no_root(plain, start, end)
    root = match[0]
    if root.endswith("b") and len(root) > 2 and plain.startswith("5", match.end()):
        root = root[:-1]  # "Cbb5" is left to the letter: C flat, flat five
    at = start + len(root)
    bass, stop = find_bass(plain, at, end)
    try:
        members = read_suffix(plain[at:stop])
    except SuffixError as error:
        raise error.later(at) from None
    note = _note(root)
    foot = _note(bass) if bass else None
    return Chord(note, members, foot if foot and foot != note else None)


@lru_cache(maxsize=256)
def _note(name: str) -> Note:
    return Note.parse(name)


def _no_root(plain: str, start: int, end: int) -> SuffixError:
    cure = "a chord begins with a capital letter A to G"
    if start >= end:
        return SuffixError("no chord is written here", cure, 0, 1)
    found = plain[start:end]
    shown = found if len(found) <= _LONGEST_SHOWN else f"{found[: _LONGEST_SHOWN - 1]}…"
    return SuffixError(f"“{shown}” does not begin with a root", cure, start, start + 1)


def _placed(error: SuffixError, text: str, plain: str, start: int, stop: int) -> ChordError:
    """The error in the symbol as it is written, with the symbol that was probably meant."""
    nearest = repaired(text, SuffixError("", "", start, stop, error.instead), _tried)
    found = plain[error.start : error.stop]
    message = error.message.replace(f"“{found}”", f"“{text[start:stop]}”")
    cure = error.cure
    if nearest:
        asked = f"did you mean {nearest}?"
        cure = f"{cure}; {asked}" if cure else asked
    place = Place(start + 1, max(1, stop - start), text=text)
    return ChordError(message, cure, place, nearest)


def _tried(text: str) -> Chord | None:
    try:
        return _read(text if text.isascii() else plain_signs(text)[0])
    except SuffixError:
        return None
