"""A song file from nothing: its tables as fields in their usual order, values as TOML."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from engine.key import Key
from engine.meter import Meter
from engine.song.read import FORMAT
from engine.song.settings import EVERYWHERE, reach_name
from engine.song.value import BarSettings, Section, Settings, Song

_FRAME = ("key", "meter", "tempo")
_SHAPED = tuple(name for name in EVERYWHERE if name not in _FRAME)
TOP_ORDER = ("format", "title", "composer", "rights", *_FRAME, "reach", "take", *_SHAPED)
SECTION_ORDER = ("name", *_FRAME, "chart", "melody", *_SHAPED, "peak", "take")
BAR_ORDER = (*_FRAME, *_SHAPED, "shape", "keep", "waive")


def _settings_values(settings: Settings) -> dict[str, Any]:
    return {name: getattr(settings, name) for name in EVERYWHERE}


def top_values(song: Song) -> dict[str, Any]:
    values = {
        "format": FORMAT,
        "title": song.title,
        "composer": song.composer or None,
        "rights": song.rights or None,
        "reach": _Reach(song.reach),
        "take": song.take,
        **_settings_values(song.settings),
    }
    return {name: values[name] for name in TOP_ORDER}


def section_values(section: Section) -> dict[str, Any]:
    values = {
        "name": section.name or None,
        "chart": section.chart,
        "melody": section.melody,
        "peak": section.peak,
        "take": section.take,
        **_settings_values(section.settings),
    }
    return {name: values[name] for name in SECTION_ORDER}


def bar_values(own: BarSettings) -> dict[str, Any]:
    values = {
        "shape": own.shape,
        "keep": own.keep,
        "waive": dict(own.waive) or None,
        **_settings_values(own.settings),
    }
    return {name: values[name] for name in BAR_ORDER}


@dataclass(frozen=True, slots=True)
class _Reach:
    semitones: int


# Values as TOML.

_ESCAPED = {"\\": "\\\\", '"': '\\"', "\b": "\\b", "\f": "\\f", "\r": "\\r"}


def escaped(text: str, *, lines: bool) -> str:
    """Text for a basic string; line breaks and tabs stay where `lines` holds."""

    def one(char: str) -> str:
        if char in _ESCAPED:
            return _ESCAPED[char]
        if lines and char in "\n\t":
            return char
        if char == "\n":
            return "\\n"
        if char == "\t":
            return "\\t"
        return f"\\u{ord(char):04x}" if ord(char) < 32 or ord(char) == 127 else char

    return "".join(map(one, text))


def encoded(value: Any) -> str:
    match value:
        case str():
            if "\n" in value:
                return f'"""\n{escaped(value, lines=True)}"""'
            return f'"{escaped(value, lines=False)}"'
        case Key() | Meter():
            return f'"{value.name}"'
        case _Reach(semitones):
            name = reach_name(semitones)
            return name if name.isdigit() else f'"{name}"'
        case tuple():
            return f"[{', '.join(map(encoded, value))}]"
        case dict():
            pairs = (f"{encoded(name)} = {encoded(each)}" for name, each in value.items())
            return f"{{ {', '.join(pairs)} }}"
        case _:
            return str(value)


# Whole tables.


def _lines(values: Mapping[str, Any]) -> str:
    written = ((name, value) for name, value in values.items() if value is not None)
    return "".join(f"{name} = {encoded(value)}\n" for name, value in written)


def fresh_song(song: Song) -> str:
    values = top_values(song)
    if song.take == 1:
        values["take"] = None
    return _lines(values) + "".join("\n" + fresh_section(each) for each in song.sections)


def fresh_section(section: Section) -> str:
    text = "[[section]]\n" + _lines(section_values(section))
    return text + "".join(fresh_bar(number, own) for number, own in section.bar_settings)


def fresh_bar(number: int, own: BarSettings) -> str:
    return f"\n[section.bar.{number}]\n" + _lines(bar_values(own))
