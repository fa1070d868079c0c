"""Names of notes as they are printed: with the music font's double sharp."""

from __future__ import annotations

import re

_NAME = re.compile(r"(?<![A-Za-z])([A-G])x")
#: In the music signs, as large and as high as their sharp; text fonts go without it.
_DOUBLE_SHARP = "\U0001d12a"


def printed(text: str) -> str:
    """A symbol, or notes, for paper: `Fx` is written with the sign for it."""
    return _NAME.sub(rf"\1{_DOUBLE_SHARP}", text)
