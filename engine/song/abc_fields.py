"""The key, meter and unit-length fields of ABC 2.1 (sections 3.1.6, 3.1.7 and 3.1.14)."""

from __future__ import annotations

import re
from fractions import Fraction

from engine.errors import InputError, Place, SongError
from engine.key import Key
from engine.meter import Meter
from engine.pitch import Note


def read_abc_key(value: str, place: Place) -> Key | None:
    """The key of a `K:` field, or None where it says nothing of it (`none`, a clef alone)."""
    text = re.sub(r"\b(clef|middle|transpose|octave|stafflines|staff|style|shift|score)\S*=\S*", "",
                  value).strip()  # fmt: skip
    text = re.sub(r"\b(treble|bass|alto|tenor|perc)[-+0-9]*", "", text).strip()
    if text.upper() == "HP":
        return Key.parse("A mixolydian")
    match = re.match(r"([A-G])([#b]?)\s*([A-Za-z]*)", text)
    if not match or text.lower() == "none":
        return None
    word = match[3].lower()[:3]
    modes = {
        "": "major", "maj": "major", "ion": "major", "m": "minor", "min": "minor", "aeo": "minor",
        "dor": "dorian", "phr": "phrygian", "lyd": "lydian", "mix": "mixolydian", "loc": "locrian",
        "exp": "major",
    }  # fmt: skip
    if word not in modes:
        raise SongError(f"“{value.strip()}” is not a key", "write one like G, Em or D mix", place)
    key = Key(Note.parse(match[1] + match[2]), modes[word])
    if abs(key.signature) > 7:
        raise SongError(
            f"{key.name} needs {abs(key.signature)} accidentals", "write its equivalent", place
        )
    return key


def read_abc_meter(value: str, place: Place) -> Meter | None:
    """The meter of an `M:` field, or None for free meter. Raises SongError."""
    text = value.strip()
    if text.lower() in ("none", ""):
        return None
    text = text.replace("(", "").replace(")", "").replace(" ", "")
    try:
        return Meter.parse(text)
    except InputError as error:
        raise SongError(f"“{value.strip()}” is not a meter", "write one like 6/8", place) from error


def read_abc_unit(value: str, place: Place) -> Fraction:
    """The unit length of an `L:` field. Raises SongError."""
    match = re.fullmatch(r"\s*1(?:\s*/\s*(1|2|4|8|16|32|64|128|256|512))?\s*", value)
    if not match:
        raise SongError(f"“{value.strip()}” is no unit length", "write one like 1/8", place)
    return Fraction(1, int(match[1] or 1))
