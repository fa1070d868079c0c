"""The grammar of chord symbols: text to Chord.

A symbol is a root, what follows it (`engine.chord.suffix`) and a slash bass.
"""

from __future__ import annotations

import re
from functools import lru_cache

from engine.chord.nearest import PLAIN_SIGNS, nearest_symbol
from engine.chord.suffix import SuffixError, read_suffix
from engine.chord.value import Chord
from engine.errors import ChordError, Place
from engine.pitch import NOTE_PATTERN, Note

_ROOT = re.compile(NOTE_PATTERN)
_SLASH_BASS = re.compile(rf"/({NOTE_PATTERN})$")
_LEFT_EMPTY = re.compile(r"[(\[][\s,]*[)\]]|,(?=\s*[)\]])|(?<=[(\[]),")
_NO_CHORD = frozenset({"N.C.", "NC", "N.C", "n.c.", "nc", "N"})


#: A longer symbol is not tried again without what cannot be read in it.
_LONGEST = 64


def is_no_chord(text: str) -> bool:
    """Whether a symbol says that no chord sounds (`N.C.`)."""
    return text.strip() in _NO_CHORD


def parse_chord(text: str) -> Chord:
    """Read a chord symbol.

    Raises ChordError with the span that cannot be read and the nearest symbol.
    """
    return _parse(text)


@lru_cache(maxsize=8192)
def _parse(text: str) -> Chord:
    plain = text if text.isascii() else text.translate(PLAIN_SIGNS)
    start, end = len(plain) - len(plain.lstrip()), len(plain.rstrip())
    match = _ROOT.match(plain, start, end)
    if not match:
        raise _no_root(text, text[start:end], start)
    root = match[0]
    if root.endswith("b") and len(root) > 2 and plain.startswith("5", match.end()):
        root = root[:-1]  # "Cbb5" is left to the letter: C flat, flat five
    at = start + len(root)
    slash = _SLASH_BASS.search(plain, at, end) if "/" in plain else None
    try:
        members = read_suffix(plain[at : slash.start() if slash else end])
    except SuffixError as error:
        raise _placed(error, text, plain, at) from None
    note = _note(root)
    bass = _note(slash[1]) if slash else None
    return Chord(note, members, None if bass == note else bass)


@lru_cache(maxsize=256)
def _note(name: str) -> Note:
    return Note.parse(name)


def _no_root(text: str, found: str, start: int) -> ChordError:
    if not found:
        message, cure = "no chord is written here", "a chord begins with a capital letter A to G"
    else:
        message = f"“{found}” does not begin with a root"
        cure = "a chord begins with a capital letter A to G"
    nearest = nearest_symbol(text)
    place = Place(min(start, max(0, len(text) - 1)) + 1, 1, text=text)
    return ChordError(message, _asked(cure, nearest), place, nearest)


def _placed(error: SuffixError, text: str, plain: str, at: int) -> ChordError:
    """The error in its symbol, with the symbol that was probably meant."""
    start, stop = at + error.start, at + error.stop
    nearest = nearest_symbol(text)
    message = error.message.replace(f"“{plain[start:stop]}”", f"“{text[start:stop]}”")
    if error.leave_out and len(text) <= _LONGEST:
        rest = _LEFT_EMPTY.sub("", text[:start] + text[stop:]).strip()
        try:
            _parse(rest)
        except ChordError:
            pass
        else:
            nearest = rest
    place = Place(start + 1, max(1, stop - start), text=text)
    return ChordError(message, _asked(error.cure, nearest), place, nearest)


def _asked(cure: str, nearest: str) -> str:
    asked = f"did you mean {nearest}?" if nearest else ""
    return f"{cure}; {asked}" if cure and asked else cure or asked
