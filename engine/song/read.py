"""The song file, read: TOML text to Song, every error at its line and column."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property
from pathlib import Path as FilePath
from typing import Any

from engine.errors import FileError, InputError, Place, SongError
from engine.song.abc import read_abc
from engine.song.build import DEFAULTS, check_bar, lay_out
from engine.song.chart import place_at, split
from engine.song.places import Path, Spot, letters, spots
from engine.song.settings import BAR, EVERYWHERE, SECTION, TOP, Field, shown_value
from engine.song.value import Bar, BarSettings, Section, Settings, Song

FORMAT = 1
LARGEST_BYTES = 2**20
_TOML_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_TWICE = ("Cannot overwrite a value", "Cannot declare")  # how tomllib says so


def load_song(path: str | FilePath) -> Song:
    """The song of a file. Raises FileError and whatever `read_song` raises."""
    return read_song(read_file(path), str(path))


def read_file(path: str | FilePath) -> str:
    """The text of a song file. Raises FileError where it is missing, a folder, huge or no text."""
    path = FilePath(path)
    here = Place(file=str(path))
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise FileError("there is no such file", _near_files(path), here) from None
    except IsADirectoryError:
        raise FileError("this is a folder", "name a song file in it", here) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise FileError(
            f"the file cannot be read: {reason}", "name a file you may read", here
        ) from None
    return decoded(data, str(path))


def decoded(data: bytes, file: str = "") -> str:
    """The text of a song file's bytes. Raises FileError."""
    if len(data) > LARGEST_BYTES:
        raise FileError(
            "the file is larger than a megabyte",
            "name a song file: a text of some kilobytes",
            Place(file=file),
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8", "replace")
        line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
        raise FileError(
            f"byte {data[error.start]:#04x} is no part of a text in UTF-8",
            "name a song file, or save it as UTF-8; other kinds of file are read by "
            "“alberti import”",
            Place(column, 1, line, file=file),
        ) from None


def _near_files(path: FilePath) -> str:
    try:
        names = {one.stem: one.name for one in path.parent.iterdir() if one.suffix == ".toml"}
    except (OSError, ValueError):
        return "name a song file that exists"
    near = get_close_matches(path.name.removesuffix(".toml"), names, n=1, cutoff=0.6)
    if not near:
        return "name a song file that exists"
    return f"did you mean {path.with_name(names[near[0]])}?"


def read_song(text: str, file: str = "") -> Song:
    """The song that a file's text holds; `file` is its name for messages.

    Raises SongError, FileError, ChartError, ChordError, KeyNameError or
    MeterError with file, line and column.
    """
    return _Reader(text, file).read()


def locate(
    text: str, section: int | None, bar: int | None, field: str, inner: Place | None = None
) -> Place:
    """Where a field of a song file's text stands.

    `section` is an index from 0 or None for the top, `bar` a number in the
    section or None; `inner` is a place inside the field's text, for an error
    found in it later. A field that is not written there is looked for further
    out; where it is nowhere, the file's first line is meant.
    """
    source = _Source(text, "")
    steps: list[Path] = [(field,)]
    if section is not None:
        steps.insert(0, ("section", section, field))
        if bar is not None:
            steps.insert(0, ("section", section, "bar", str(bar), field))
    for path in steps:
        if path in source.spots:
            return source.value(path, inner)
    return source.place(0, 1)


@dataclass(frozen=True)
class _Source:
    """A file's text with the places of its values."""

    text: str
    file: str

    @cached_property
    def spots(self) -> dict[Path, Spot]:
        return spots(self.text.replace("\r\n", "\n"))

    def place(self, start: int, end: int) -> Place:
        return place_at(self.text.replace("\r\n", "\n"), start, end, self.file)

    def key(self, path: Path) -> Place:
        """The place of a field's name."""
        return self.place(*self.spots[path].key) if path in self.spots else self.place(0, 1)

    def value(self, path: Path, inner: Place | None = None) -> Place:
        """The place of a field's value, or of a place inside its text."""
        spot = self.spots.get(path)
        if spot is None:
            return self.place(0, 1)
        if inner is None or not spot.quote:
            return self.place(*spot.value)
        offsets = letters(self.text.replace("\r\n", "\n"), spot)
        lines = self._content(offsets).split("\n")
        before = sum(len(line) + 1 for line in lines[: inner.line - 1])
        start = min(before + inner.column - 1, len(offsets) - 1)
        end = min(start + inner.length, len(offsets) - 1)
        return self.place(offsets[start], max(offsets[end], offsets[start] + 1))

    def _content(self, offsets: list[int]) -> str:
        """A string's characters, escapes as one character each; only line breaks matter."""
        text = self.text.replace("\r\n", "\n")
        return "".join(
            "\n" if text.startswith("\\n", at) else text[at] for at in offsets[:-1]
        )  # fmt: skip


class _Reader:
    """One song file being read."""

    def __init__(self, text: str, file: str) -> None:
        self.source = _Source(text, file)

    def read(self) -> Song:
        data = self._toml()
        self._format(data)
        top = self._fields(data, (), {**EVERYWHERE, **TOP}, extra=("format", "section"))
        settings = _settings(top)
        tables = data.get("section", [])
        if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
            raise self._at(
                SongError(
                    f"section is {shown_value(tables)}", "write [[section]] with two brackets"
                ),
                ("section",),
            )
        if not tables:
            raise SongError(
                "the song has no section",
                "add one: [[section]], then name = and chart = under it",
                self.source.place(0, 1),
            )
        sections = tuple(self._section(index, table) for index, table in enumerate(tables))
        filled = settings.over(Settings(DEFAULTS.key, DEFAULTS.meter, DEFAULTS.tempo))
        bars = lay_out(filled, sections, self._in_chart)
        self._check_melodies(sections, bars)
        return Song(
            title=top.get("title", ""),
            settings=filled,
            sections=sections,
            bars=bars,
            reach=top.get("reach", 12),
            take=top.get("take", 1),
            composer=top.get("composer", ""),
            rights=top.get("rights", ""),
            file=self.source.file,
        )

    def _toml(self) -> dict[str, Any]:
        text = self.source.text
        try:
            return tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            match = _TOML_PLACE.search(str(error))
            message = _TOML_PLACE.sub("", str(error))
            lines = text.replace("\r\n", "\n").split("\n")
            line = int(match[1]) if match and match[1] else len(lines)
            column = int(match[2]) if match and match[2] else len(lines[-1]) + 1
            shown = lines[line - 1] if line <= len(lines) else ""
            if message.startswith(_TWICE):
                indent, length = len(shown) - len(shown.lstrip()), len(shown.strip())
                raise SongError(
                    "what stands here was said before", "keep one of the two",
                    Place(indent + 1, min(length, 200), line, shown[:200], self.source.file),
                ) from None  # fmt: skip
            raise SongError(
                f"this line cannot be read ({message[:1].lower()}{message[1:]})",
                'a line is name = value, texts stand in quotes: title = "Evening"',
                Place(column, 1, line, shown[:200], self.source.file),
            ) from None
        except RecursionError:
            raise SongError(
                "brackets are nested too deeply", "a song file needs two levels at most",
                self.source.place(0, 1),
            ) from None  # fmt: skip

    def _format(self, data: dict[str, Any]) -> None:
        right = f"the file begins with the line format = {FORMAT}"
        if "format" not in data:
            raise FileError("the format line is missing", right, self.source.place(0, 1))
        if data["format"] != FORMAT or isinstance(data["format"], bool):
            raise FileError(
                f"format is {shown_value(data['format'])}, and this version reads format {FORMAT}",
                right,
                self.source.value(("format",)),
            )

    def _at(self, error: InputError, path: Path) -> InputError:
        """The error at a field's value."""
        return error.at(self.source.value(path, error.place))

    def _in_chart(self, section: int, error: InputError) -> InputError:
        return self._at(error, ("section", section, "chart"))

    def _fields(
        self, table: dict[str, Any], path: Path, fields: dict[str, Field], extra: tuple[str, ...]
    ) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for name, value in table.items():
            if name in fields:
                try:
                    found[name] = fields[name].read(value)
                except InputError as error:
                    raise self._at(error, (*path, name)) from None
            elif name not in extra:
                raise self._unknown(name, (*path, name), [*fields, *extra])
        return found

    def _unknown(self, name: str, path: Path, known: list[str]) -> SongError:
        near = get_close_matches(name, known, n=1, cutoff=0.5)
        where = "a bar" if "bar" in path else "a section" if "section" in path else "the top"
        listed = f"{where} may have {', '.join(known)}"
        cure = f"did you mean {near[0]}? {listed}" if near else listed
        return SongError(f"there is no field {shown_value(name)} here", cure, self.source.key(path))

    def _section(self, index: int, table: dict[str, Any]) -> Section:
        path: Path = ("section", index)
        found = self._fields(table, path, {**SECTION, **EVERYWHERE}, extra=("bar",))
        if "chart" not in found:
            raise SongError(
                "this section has no chart",
                'write one under it, like chart = "| C | G |"',
                self.source.key(path),
            )
        section = Section(
            name=found.get("name", ""),
            chart=found["chart"],
            settings=_settings(found),
            bar_settings=self._bars(index, table.get("bar", {})),
            take=found.get("take"),
            melody=found.get("melody"),
            peak=found.get("peak"),
        )
        self._check_numbers(index, section)
        return section

    def _check_numbers(self, index: int, section: Section) -> None:
        try:
            count = len(split(section.chart))
        except InputError as error:
            raise self._in_chart(index, error) from None
        if not count:
            return
        for number, _ in section.bar_settings:
            try:
                check_bar(section, index, number, count)
            except SongError as error:
                path = ("section", index, "bar", str(number))
                raise error.at(self.source.key(path)) from None
        if section.peak is not None:
            try:
                check_bar(section, index, section.peak, count)
            except SongError as error:
                raise error.at(self.source.value(("section", index, "peak"))) from None

    def _check_melodies(self, sections: tuple[Section, ...], bars: tuple[Bar, ...]) -> None:
        for index, section in enumerate(sections):
            first = next(bar for bar in bars if bar.section == index)
            try:
                if section.melody is not None:
                    read_abc(section.melody, first.key, first.meter)
            except InputError as error:
                raise self._at(error, ("section", index, "melody")) from None

    def _bars(self, index: int, table: Any) -> tuple[tuple[int, BarSettings], ...]:
        path: Path = ("section", index, "bar")
        if not isinstance(table, dict):
            raise SongError(
                f"bar is {shown_value(table)}",
                "write the bar's number in a line of its own: [section.bar.3]",
                self.source.value(path),
            )
        found: dict[int, BarSettings] = {}
        for name, value in table.items():
            here = (*path, name)
            if not re.fullmatch(r"[1-9]\d{0,4}", name) or not isinstance(value, dict):
                raise SongError(
                    f"{shown_value(name)} is no bar of the section"
                    if isinstance(value, dict)
                    else f"bar.{name} is {shown_value(value)}",
                    "write the bar's number, counted from 1 in the section: [section.bar.3]",
                    self.source.key(here),
                )
            found[int(name)] = self._bar(here, value)
        return tuple(sorted(found.items()))

    def _bar(self, path: Path, table: dict[str, Any]) -> BarSettings:
        found = self._fields(table, path, {**EVERYWHERE, **BAR}, extra=("keep", "waive"))
        keep = table.get("keep")
        if keep is not None and not (
            isinstance(keep, list) and all(isinstance(each, str) for each in keep)
        ):
            raise SongError(
                f"keep is {shown_value(keep)}",
                "this line is written by the program: a list of texts",
                self.source.value((*path, "keep")),
            )
        waive = table.get("waive", {})
        if not isinstance(waive, dict) or not all(isinstance(each, str) for each in waive.values()):
            raise SongError(
                f"waive is {shown_value(waive)}",
                'write the rule and the reason: waive = { "rule" = "reason" }',
                self.source.value((*path, "waive")),
            )
        return BarSettings(
            settings=_settings(found),
            shape=found.get("shape"),
            keep=tuple(keep) if keep is not None else None,
            waive=tuple(waive.items()),
        )


def _settings(found: dict[str, Any]) -> Settings:
    return Settings(**{name: found[name] for name in EVERYWHERE if name in found})
