"""Signs that look like the ones the grammar knows, put in their place one for one."""

from __future__ import annotations

import re
import unicodedata

_ALIKE = {
    "#": "♯＃﹟",
    "b": "♭ᵇ",
    "-": "−–—―‐‑⁻﹣",
    "+": "⁺﹢",
    "Δ": "△∆▵▲",
    "°": "º˚◦∘⁰ᵒ",
    "ø": "Ø∅⌀φϕΦ",
    "/": "⁄∕⧸",
    "(": "⁽",
    ")": "⁾",
    "h": "½",  # "½dim" is half diminished
    " ": "\u00a0\u2002\u2003\u2007\u2009\u202f\u3000",
    "a": "ᵃ",
    "d": "ᵈ",
    "g": "ᵍ",
    "i": "ⁱ",
    "j": "ʲ",
    "m": "ᵐ",
    "M": "ᴹ",
    "n": "ⁿ",
    "s": "ˢ",
    "u": "ᵘ",
}
#: Every digit a typesetter raises or lowers, and the full-width forms of an input method.
_DIGITS = ("¹₁", "²₂", "³₃", "⁴₄", "⁵₅", "⁶₆", "⁷₇", "⁸₈", "⁹₉")
PLAIN_SIGNS: dict[int, str] = {
    **{ord(sign): plain for plain, signs in _ALIKE.items() for sign in signs},
    **{ord(sign): str(n) for n, signs in enumerate(_DIGITS, 1) for sign in signs},
    **{code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)},
}
_UNSEEN = re.compile("[\ufe0e\ufe0f]")


def plain_signs(text: str) -> tuple[str, tuple[int, ...] | None]:
    """A text in the grammar's own signs, and where each stood; None where all stayed in place.

    What cannot be seen (marks of direction, joiners, variation selectors) is left out.
    """
    plain = text.translate(PLAIN_SIGNS)
    if plain.isascii():
        return plain, None
    kept = tuple(
        at
        for at, sign in enumerate(plain)
        if unicodedata.category(sign) != "Cf" and not _UNSEEN.match(sign)
    )
    if len(kept) == len(plain):
        return plain, None
    return "".join(plain[at] for at in kept), (*kept, len(text) - 1)
