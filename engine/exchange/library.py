"""The libraries that pages are made with, loaded when the first page is made."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from engine.errors import FileError


def library(name: str) -> Any:
    """The engraver or the typesetter. Raises FileError where it is not installed."""
    try:
        return import_module(name)
    except ImportError as error:
        raise FileError(
            f"pages need the library {name}, which cannot be loaded ({error})",
            f"install it (pip install {name}); MusicXML and MIDI are written without it",
        ) from None
