"""The known symbol that a misspelt one is most like."""

from __future__ import annotations

import re
from difflib import SequenceMatcher
from functools import lru_cache

from engine.chord.kinds import kinds
from engine.pitch import NOTE_PATTERN

#: Signs that look like the ones the grammar knows; raised and lowered digits are digits.
PLAIN_SIGNS = str.maketrans(
    "♯♭−–‐‑⁻△∆º˚◦∘⁰Ø∅⌀⁺⁄⁽⁾＃＋－（），／¹²³⁴⁵⁶⁷⁸⁹₁₂₃₄₅₆₇₈₉",
    "#b-----ΔΔ°°°°°øøø+/()#+-(),/123456789123456789",
)
_ROOT = re.compile(NOTE_PATTERN)
_SHARP = re.compile(r"([A-G])is")
_FLAT = re.compile(r"([A-G])es(?!us)|([AE])s(?!us|s)")
_MODE = re.compile(r"-?(dur|moll)")
_LEAST_LIKE = 0.5  # of 1: below it a symbol is not like another


@lru_cache(maxsize=1)
def _common_suffixes() -> tuple[str, ...]:
    more = ("add9", "madd9", "7b9", "7#9", "7b5", "7#5", "7(b9,#11)", "maj7#11")
    return ("sus4", *(kind.suffix for kind in kinds() if kind.name != "pedal"), *more)


def _english(text: str) -> str:
    """A symbol with the English name of its root: `Fis` as F#, `H` as B, `a-moll` as Am."""
    text = text[:1].upper() + text[1:]
    if text.startswith("H"):
        text = f"B{text[1:]}"
    text = _MODE.sub(lambda found: "m" if found[1] == "moll" else "", text, count=1)
    return _FLAT.sub(r"\1\2b", _SHARP.sub(r"\1#", text, count=1), count=1)


@lru_cache(maxsize=1024)
def nearest_symbol(text: str) -> str:
    """The known symbol most like a misspelt one, the commoner of equals, or an empty string."""
    plain = text.strip().translate(PLAIN_SIGNS)[:24].replace("\\", "/")
    head, _, bass = plain.partition("/")
    head, bass = _english(head), _english(bass)
    match = _ROOT.match(head)
    roots = (match[0],) if match else tuple("CDEFGAB") if set(head) & set("ABCDEFG") else ()
    best, most = "", (_LEAST_LIKE, 0)
    matcher = SequenceMatcher(b=head)
    for symbol in (root + suffix for root in roots for suffix in _common_suffixes()):
        matcher.set_seq1(symbol)
        if matcher.quick_ratio() >= most[0] and (matcher.ratio(), len(symbol)) > most:
            best, most = symbol, (matcher.ratio(), len(symbol))
    return f"{best}/{bass}" if best and re.fullmatch(NOTE_PATTERN, bass) else best
