"""What may be set for a song, a section or a bar, and how each value is checked.

`read_setting` serves the song file and what is typed on the screen alike.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from engine.errors import Place, SongError
from engine.key import Key
from engine.meter import Meter

#: How far one hand reaches, in semitones: a major ninth, a major tenth.
REACHES = {"octave": 12, "ninth": 14, "tenth": 16}
AMOUNTS = ("busy", "outside", "doubling", "anticipation")
#: Dynamic marks from soft to loud.
DYNAMICS = ("ppp", "pp", "p", "mp", "mf", "f", "ff", "fff")
#: Where the right hand lies, in semitones from where it would.
REGISTERS = {"low": -5, "middle": 0, "high": 7}
_LEAST_TEMPO, _MOST_TEMPO = 10, 400


@dataclass(frozen=True, slots=True)
class Field:
    """A setting: how its value is read, and what a right one is, in words."""

    read: Callable[[Any], Any]
    right: str


def _wrong(name: str, value: object, column: int = 1, length: int = 0) -> SongError:
    """The error that a value is not what the field takes; the place is inside a text value."""
    shown = f"“{value}”" if isinstance(value, str) else shown_value(value)
    text = value if isinstance(value, str) else ""
    place = Place(column, max(1, length or len(text)), text=text)
    return SongError(f"{name} is {shown}", f"write {FIELDS[name].right}", place)


def shown_value(value: object) -> str:
    """A value of a file in words, short."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, str):
        return f"“{value if len(value) <= 40 else value[:39] + '…'}”"
    return str(value)


def is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _number(value: Any) -> float | None:
    """A number, or a text that is one (typed on the screen)."""
    if isinstance(value, str) and re.fullmatch(r"\s*\d{1,6}(\.\d{1,6})?\s*", value):
        value = float(value)
    return value if is_number(value) else None


def _tempo(value: Any) -> float:
    number = _number(value)
    if number is None or not _LEAST_TEMPO <= number <= _MOST_TEMPO:
        raise _wrong("tempo", value)
    return int(number) if number == int(number) else number


def _amount(name: str) -> Callable[[Any], float]:
    def read(value: Any) -> float:
        number = _number(value)
        if number is None or not 0 <= number <= 1:
            raise _wrong(name, value)
        return float(number)

    return read


def _text(name: str) -> Callable[[Any], str]:
    def read(value: Any) -> str:
        if not isinstance(value, str) or not value.strip():
            raise _wrong(name, value)
        return value

    return read


def _any_text(name: str) -> Callable[[Any], str]:
    def read(value: Any) -> str:
        if not isinstance(value, str):
            raise _wrong(name, value)
        return value

    return read


def _key(value: Any) -> Key:
    if not isinstance(value, str):
        raise _wrong("key", value)
    return Key.parse(value)


def _meter(value: Any) -> Meter:
    if not isinstance(value, str):
        raise _wrong("meter", value)
    return Meter.parse(value)


def _count(name: str) -> Callable[[Any], int]:
    def read(value: Any) -> int:
        number = _number(value)
        if number is None or number != int(number) or not 1 <= number <= 9999:
            raise _wrong(name, value)
        return int(number)

    return read


def _reach(value: Any) -> int:
    if isinstance(value, str) and value.strip().casefold() in REACHES:
        return REACHES[value.strip().casefold()]
    number = _number(value)
    if number is None or number != int(number) or not 7 <= number <= 24:
        raise _wrong("reach", value)
    return int(number)


def _register(value: Any) -> str:
    if not isinstance(value, str) or value.strip().casefold() not in REGISTERS:
        raise _wrong("register", value)
    return value.strip().casefold()


def reach_name(semitones: int) -> str:
    """`octave`, `ninth`, `tenth`, or the number of semitones."""
    return next((name for name, size in REACHES.items() if size == semitones), str(semitones))


def _arc(value: Any) -> str:
    if not isinstance(value, str):
        raise _wrong("arc", value)
    arc_marks(value)
    return value


def arc_marks(text: str) -> tuple[tuple[str, str], ...]:
    """An arc as (mark, way) pairs: `p < mf > p` is ((p, <), (mf, >), (p, "")).

    The way leads to the next mark: `<` grows, `>` falls, "" changes at once.
    Raises SongError with the place in the text.
    """
    found: list[tuple[str, str]] = []
    last = ""
    for match in re.finditer(r"[<>]|[^\s<>]+", text):
        word = match[0]
        if word in "<>":
            if not found or last in "<>":
                raise _wrong("arc", text, match.start() + 1, 1)
            found[-1] = (found[-1][0], word)
        elif word not in DYNAMICS:
            raise _wrong("arc", text, match.start() + 1, len(word))
        else:
            if found and found[-1][1]:
                before, way = found[-1]
                rises = DYNAMICS.index(word) > DYNAMICS.index(before)
                if word == before or rises != (way == "<"):
                    raise SongError(
                        f"the arc goes {before} {way} {word}",
                        "< leads to a louder mark, > to a softer one",
                        Place(match.start() + 1, len(word), text=text),
                    )
            found.append((word, ""))
        last = word
    if not found or last in "<>":
        raise _wrong("arc", text, max(1, len(text.rstrip())), 1)
    return tuple(found)


_AMOUNT = "a number from 0 to 1"
#: What may stand at the top, in a section and in a bar; the nearest wins.
EVERYWHERE: dict[str, Field] = {
    "key": Field(_key, "a note and a mode, like “Ab major” or “F# minor”"),
    "meter": Field(_meter, "a meter, like “4/4” or “6/8”"),
    "tempo": Field(
        _tempo, f"a number of beats a minute, {_LEAST_TEMPO} to {_MOST_TEMPO}, without quotes"
    ),
    "right": Field(_text("right"), "a figure as text, like “1 2 3 2 1 2 3 2”, or a figure's name"),
    "left": Field(_text("left"), "a figure as text, like “R . . .”, or a figure's name"),
    "arc": Field(_arc, "dynamic marks with < or > between them, like “p < mf > p”"),
    "register": Field(_register, "“low”, “middle” or “high”"),
    **{name: Field(_amount(name), _AMOUNT) for name in AMOUNTS},
}
#: What else stands at the top of a file.
TOP: dict[str, Field] = {
    "title": Field(_any_text("title"), "a title in quotes"),
    "composer": Field(_any_text("composer"), "a name in quotes"),
    "rights": Field(_any_text("rights"), "a line of text in quotes"),
    "reach": Field(_reach, "“octave”, “ninth”, “tenth” or a number of semitones from 7 to 24"),
    "take": Field(_count("take"), "a number from 1"),
}
#: What else stands in a section.
SECTION: dict[str, Field] = {
    "name": Field(_any_text("name"), "a name in quotes"),
    "chart": Field(_any_text("chart"), "chords between bar lines in quotes, like “| C | G |”"),
    "take": TOP["take"],
    "melody": Field(_any_text("melody"), "the notes as ABC text in quotes"),
    "peak": Field(_count("peak"), "the number of a bar in the section"),
}
#: What else is set for one bar. `keep` and `waive` have their own forms.
BAR: dict[str, Field] = {
    "shape": Field(_text("shape"), "a shape as text, like “C4 E4 G4”"),
}
FIELDS: dict[str, Field] = {**EVERYWHERE, **TOP, **SECTION, **BAR}


def read_setting(name: str, value: object) -> Any:
    """A setting's value from what a file holds or a person typed.

    Returns a Key, Meter, number or text as in `Settings`, `Song` and
    `Section`. Raises an InputError that says what would be right, its place
    inside a text value.
    """
    return FIELDS[name].read(value)
