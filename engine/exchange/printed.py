"""Texts as they are printed: names on one line, notes with the music font's double sharp."""

from __future__ import annotations

import re

_NAME = re.compile(r"(?<![A-Za-z])([A-G])x")
#: In the music signs, as large and as high as their sharp; text fonts go without it.
_DOUBLE_SHARP = "\U0001d12a"


def printed(text: str) -> str:
    """A symbol, or notes, for paper: `Fx` is written with the sign for it."""
    return _NAME.sub(rf"\1{_DOUBLE_SHARP}", text)


def clean(text: str) -> str:
    """A title or name as one line, without signs that command or cannot be seen."""
    seen = "".join(sign if sign.isprintable() else " " for sign in text)
    return " ".join(seen.split())
