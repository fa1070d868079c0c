"""Edits of what is set beside the chords, for the song, a section or a bar, each Song -> Song."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from engine.errors import InputError, Place, SongError
from engine.song.build import DEFAULTS, rebuilt
from engine.song.chart import split
from engine.song.melody_bars import melody_fault
from engine.song.settings import BAR, EVERYWHERE, SECTION, TOP, read_setting
from engine.song.value import Bar, BarSettings, Section, Song

_BAR_OPTIONS = (*BAR, "keep", "waive")


@dataclass(frozen=True, slots=True)
class Scope:
    """What an edit is for: the song, one section (from 0), or one bar (from 1 in the song)."""

    section: int | None = None
    bar: int | None = None


SONG = Scope()


def set_setting(song: Song, scope: Scope, name: str, value: object) -> Song:
    """The song with a setting changed; None takes it away.

    `value` is what `Settings` holds or a text as it would be typed. `name` is
    one of key, meter, tempo, right, left, arc and the four amounts in every
    scope; for the song also title, composer, rights, reach and take, for a
    section name, take, melody and peak, for a bar shape. Raises an InputError
    where the value or its consequences cannot be read (a meter that the
    chart's dots don't fill).
    """
    if scope.bar is not None:
        return _in_bar(song, scope.bar, name, value)
    if scope.section is not None:
        return _in_section(song, scope.section, name, value)
    if name in EVERYWHERE:
        checked = (
            getattr(DEFAULTS, name) if value is None and name in _FRAME else _read(name, value)
        )
        return rebuilt(song, settings=replace(song.settings, **{name: checked}))
    _known(name, TOP, "a song")
    empty: dict[str, Any] = {"reach": 12, "take": 1}
    checked = empty.get(name, "") if value is None else _read(name, value)
    return replace(song, **{name: checked})


_FRAME = ("key", "meter", "tempo")


def _in_section(song: Song, index: int, name: str, value: object) -> Song:
    if not 0 <= index < len(song.sections):
        raise SongError(f"there is no section {index + 1}", f"the song has {len(song.sections)}")
    section = song.sections[index]
    if name in EVERYWHERE:
        settings = replace(section.settings, **{name: _read(name, value)})
        section = replace(section, settings=settings)
    else:
        _known(name, SECTION, "a section")
        checked: Any = "" if value is None and name == "name" else _read(name, value)
        section = replace(section, **{name: checked})
        if name == "melody" and section.melody is not None:
            fault = melody_fault(section.melody, [b for b in song.bars if b.section == index])
            if fault is not None:
                raise fault
        count = len(split(section.chart))
        if section.peak is not None and not 1 <= section.peak <= count:
            raise SongError(f"the section has no bar {section.peak}", f"its bars are 1 to {count}")
    return _with(song, index, section)


def _in_bar(song: Song, number: int, name: str, value: object) -> Song:
    own = _bar(song, number).own
    if name in EVERYWHERE:
        settings = replace(own.settings, **{name: _read(name, value)})
        return _with_own(song, number, replace(own, settings=settings))
    _known(name, BAR, "a bar")
    return set_bar_option(song, number, name, value)


def set_bar_option(song: Song, number: int, name: str, value: object) -> Song:
    """The song with a bar's `shape`, `keep` or `waive` changed; None takes it away.

    `shape` is a text, `keep` the kept figures as texts, `waive` maps a rule's
    name to the reason.
    """
    checked: Any = value
    if name == "waive":
        checked = tuple(dict(value).items()) if isinstance(value, Mapping | tuple) else ()
    elif name == "keep":
        checked = tuple(value) if isinstance(value, list | tuple) else None
    elif name in BAR:
        checked = _read(name, value)
    else:
        raise SongError(f"a bar has no {name}", f"set one of {', '.join(_BAR_OPTIONS)}")
    return _with_own(song, number, replace(_bar(song, number).own, **{name: checked}))


def clear_bar(song: Song, number: int) -> Song:
    """The song with nothing set for a bar beside its chords."""
    _bar(song, number)
    return _with_own(song, number, BarSettings())


def _read(name: str, value: object) -> Any:
    if value is None:
        return None
    if isinstance(value, str) or not hasattr(value, "name"):
        try:
            return read_setting(name, value)
        except InputError as error:
            text = value if isinstance(value, str) else ""
            raise error.at(error.place or Place(text=text)) from None
    return value  # a Key or Meter


def _known(name: str, fields_here: Mapping[str, object], where: str) -> None:
    if name not in fields_here or name == "chart":
        names = [each for each in (*EVERYWHERE, *fields_here) if each != "chart"]
        raise SongError(f"{where} has no setting {name}", f"set one of {', '.join(names)}")


def _bar(song: Song, number: int) -> Bar:
    if not 1 <= number <= len(song.bars):
        raise SongError(
            f"there is no bar {number}", f"bars are numbered from 1 to {len(song.bars)}"
        )
    return song.bars[number - 1]


def _with(song: Song, index: int, section: Section) -> Song:
    return rebuilt(song, sections=(*song.sections[:index], section, *song.sections[index + 1 :]))


def _with_own(song: Song, number: int, own: BarSettings) -> Song:
    bar = song.bars[number - 1]
    section = song.sections[bar.section]
    others = {place: each for place, each in section.bar_settings if place != bar.in_section}
    if own != BarSettings():
        others[bar.in_section] = own
    section = replace(section, bar_settings=tuple(sorted(others.items(), key=lambda x: x[0])))
    return _with(song, bar.section, section)
