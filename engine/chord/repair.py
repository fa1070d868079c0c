"""The symbol that was probably meant where one cannot be read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from difflib import SequenceMatcher
from functools import lru_cache

from engine.chord.brackets import SuffixError
from engine.chord.kinds import kinds
from engine.chord.signs import PLAIN_SIGNS
from engine.chord.value import Chord
from engine.pitch import NOTE_PATTERN

_NOTE = re.compile(NOTE_PATTERN)
_LEFT_EMPTY = re.compile(r"[(\[][\s,]*[)\]]|,(?=\s*[)\]])|(?<=[(\[]),")
_SHARP = re.compile(r"([A-G])is")
_FLAT = re.compile(r"([A-G])es(?!us)|([AE])s(?!us|s)")
_MODE = re.compile(r"-?(dur|moll)")
_SPOKEN = re.compile(r"([A-G])[ -]?(sharp|flat)(?! ?(?:5|9|1[13]))")
_SPOKEN_SIGN = re.compile(r"(sharp|flat) ?(5|9|1[13])")
_SUNG = re.compile(r"(do|r[eé]|mi|fa|sol|la|si)(?![ac-ln-z])", re.IGNORECASE | re.ASCII)
_ENGLISH = {"do": "C", "re": "D", "ré": "D", "mi": "E", "fa": "F", "sol": "G", "la": "A", "si": "B"}
_BASS_SAID = re.compile(rf"(?: over |\\| on |/)({NOTE_PATTERN})")
_APART = re.compile(r" *[-|;>~&=]+ *(?=[A-G])| +(?=[A-G])")
_EDGES = "()[]{}<>|*.:,;'\"!?~= "
#: Junk before what may well be read, not instead of it.
_STRAY = re.compile(r"[:._;\\@$?!*'`~=&08].|(\D)\1|[#b+-][08]")
_MEANT = {"n": "m", "v": "b", "8": "7"}
_NEAR = re.compile(r"n(?!m)|v(?!b)|8(?!\d)")
#: Keys that lie beside the one that was meant.
_NEIGHBOURS = str.maketrans("\\?.@$", "///##")
_LEAST_LIKE = 0.6  # of 1: at or below it a symbol is not like another
#: A longer symbol is not tried in other ways.
_LONGEST = 64


@lru_cache(maxsize=1)
def _common_suffixes() -> tuple[str, ...]:
    more = ("add9", "madd9", "7b9", "7#9", "7b5", "7#5", "7(b9,#11)", "maj7#11", "7(no5)", "(no3)")
    return ("sus4", *(kind.suffix for kind in kinds() if kind.name != "pedal"), *more)


def repaired(text: str, error: SuffixError, read: Callable[[str], Chord | None]) -> str:
    """The symbol that was probably meant, or an empty string.

    What was written is kept but for what is wrong in it; where letters had to be
    guessed at, the symbol is the canonical one.
    """
    if len(text) <= _LONGEST:
        for tried, guessed in _ways(text, error, read):
            chord = read(tried) if tried != text else None
            if chord is not None and (chord.suffix or not guessed):  # nobody writes out a triad
                return chord.symbol if guessed else tried
    return nearest_symbol(text)


def _ways(
    text: str, error: SuffixError, read: Callable[[str], Chord | None]
) -> Iterator[tuple[str, bool]]:
    """Other ways to write a symbol, the likeliest first, and whether letters are guessed at."""
    bare = text.strip(_EDGES)
    start, stop = error.start, error.stop
    found = text[start:stop]
    if near := _NEAR.match(found):
        yield text[:start] + _MEANT[near[0]] + text[start + 1 :], False
    stray = _STRAY.match(found) is not None
    if error.instead is not None and not stray:
        yield _changed(text, start, stop, error.instead), False
    yield from ((bare, False), (english(bare), False))
    yield _SPOKEN_SIGN.sub(_alteration, text), False
    if (apart := _APART.search(text)) and read(text[apart.end() :]) is not None:
        yield text[: apart.start()], False
    yield "".join(text.split()), False
    if found[:1] in ":._;":
        yield _changed(text, start, start + 1), False
    yield text[:start] + text[start:].translate(_NEIGHBOURS), False
    if _NOTE.fullmatch(found):
        yield f"{text[:start]}/{found}{text[stop:]}", False
    if said := _BASS_SAID.search(text):
        yield f"{text[: said.start()].rstrip()}/{said[1]}", False
    yield text[:start] + found.lower() + text[stop:], False
    if not re.fullmatch(r"[b♭]", found):  # a lone flat may want its number yet
        yield from _slips(text, start, min(stop, start + 8, len(text)))
    if error.instead is not None and stray:
        yield _changed(text, start, stop, error.instead), False


def _slips(text: str, start: int, stop: int) -> Iterator[tuple[str, bool]]:
    """A sign or letter too many, or two in a wrong order; the root stays."""
    yield text[:start].removesuffix("(") + text[start:].replace("(", ")"), False
    if text[start : start + 1].isalpha():
        yield from _swapped(text, start - 1)
    for at in range(start, stop):
        if text[at] not in "12345679":
            yield _changed(text, at, at + 1), text[at].isalpha()
        yield from _swapped(text, at)


def _swapped(text: str, at: int) -> Iterator[tuple[str, bool]]:
    swapped = text[:at] + text[at + 1 : at + 2] + text[at] + text[at + 2 :] if at > 0 else ""
    before, after = _NOTE.match(text), _NOTE.match(swapped)
    if before and after and before[0] == after[0]:
        yield swapped, True


def _alteration(said: re.Match[str]) -> str:
    return f"({'#' if said[1] == 'sharp' else 'b'}{said[2]})"


def _changed(text: str, start: int, stop: int, instead: str = "") -> str:
    return _LEFT_EMPTY.sub("", text[:start] + instead + text[stop:]).strip()


def english(text: str) -> str:
    """A symbol with the English name of its root.

    `Fis` as F#, `H` as B, `Sol7` as G7, `D flat` as Db, `a-moll` as Am.
    """
    if sung := _SUNG.match(text):
        return _ENGLISH[sung[1].lower()] + text[sung.end() :]
    text = text[:1].upper() + text[1:]
    if text.startswith("H"):
        text = f"B{text[1:]}"
    text = _SPOKEN.sub(lambda said: said[1] + ("#" if said[2] == "sharp" else "b"), text, count=1)
    text = _MODE.sub(lambda found: "m" if found[1] == "moll" else "", text, count=1)
    return _FLAT.sub(r"\1\2b", _SHARP.sub(r"\1#", text, count=1), count=1)


@lru_cache(maxsize=1024)
def nearest_symbol(text: str) -> str:
    """The known symbol most like a misspelt one, the commoner of equals, or an empty string."""
    plain = text.strip().translate(PLAIN_SIGNS)[:24].replace("\\", "/")
    head, _, bass = plain.partition("/")
    head, bass = english(head), english(bass)
    match = _NOTE.match(head)
    roots = (match[0],) if match else tuple("CDEFGAB") if set(head) & set("ABCDEFG") else ()
    best, most = "", (_LEAST_LIKE, 99)
    matcher = SequenceMatcher(b=head)
    for symbol in (root + suffix for root in roots for suffix in _common_suffixes()):
        matcher.set_seq1(symbol)
        if matcher.quick_ratio() >= most[0] and (matcher.ratio(), len(symbol)) > most:
            best, most = symbol, (matcher.ratio(), len(symbol))
    return f"{best}/{bass}" if best and re.fullmatch(NOTE_PATTERN, bass) else best
