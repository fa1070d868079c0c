"""The song file, written: Song to TOML text, by splices into the text that was there before.

Comments, order, spacing and the writer's quotes stay; only what changed is
touched. Sections and bar tables move as whole blocks with the remarks right
above them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from engine.errors import InputError
from engine.song.fresh import (
    BAR_ORDER,
    SECTION_ORDER,
    TOP_ORDER,
    bar_values,
    encoded,
    escaped,
    fresh_bar,
    fresh_section,
    fresh_song,
    section_values,
    top_values,
)  # fmt: skip
from engine.song.places import Path, Spot, letters, spots
from engine.song.read import read_song
from engine.song.value import BarSettings, Section, Song


def write_song(song: Song, before: str | None = None) -> str:
    """The text of a song's file.

    `before` is the text the song was read from: where nothing changed it
    comes back byte for byte. Raises what `read_song` raises on `before`.
    """
    if before is None:
        return fresh_song(song)
    old = read_song(before)
    if old == song:
        return before
    broken = "\r\n" if before.count("\r\n") == before.count("\n") > 0 else "\n"
    text = _patched(before.replace("\r\n", "\n"), old, song)
    try:
        faithful = read_song(text) == song
    except InputError:
        faithful = False
    if not faithful:  # tables written inline and the like: the notes matter more than the layout
        text = fresh_song(song)
    return text.replace("\n", broken)


@dataclass(frozen=True, slots=True)
class _Splice:
    start: int
    end: int
    text: str


def _spliced(text: str, splices: Iterable[_Splice]) -> str:
    for splice in sorted(splices, key=lambda each: (each.start, each.end), reverse=True):
        text = text[: splice.start] + splice.text + text[splice.end :]
    return text


def _patched(text: str, old: Song, new: Song) -> str:
    patch = _Patch(text)
    head = patch.table((), top_values(old), top_values(new), TOP_ORDER)
    pairs = _paired(old.sections, new.sections)
    kept = [index for index in pairs if index is not None]
    splices = {
        index: patch.section(index, old.sections[index], section)
        for index, section in zip(pairs, new.sections, strict=True)
        if index is not None
    }
    if kept == list(range(len(old.sections))) and len(pairs) == len(kept):
        return _spliced(text, [*head, *(each for index in kept for each in splices[index])])
    starts = [patch.block_start(("section", index)) for index in range(len(old.sections))]
    ends = [*starts[1:], len(text)]
    blocks = [_spliced(text[: starts[0]], head)]
    for index, section in zip(pairs, new.sections, strict=True):
        if index is None:
            blocks.append(fresh_section(section))
            continue
        start, end = starts[index], ends[index]
        moved = [_Splice(s.start - start, s.end - start, s.text) for s in splices[index]]
        blocks.append(_spliced(text[start:end], moved))
    parted = [block.rstrip("\n") + "\n" for block in blocks if block.strip()]
    return "\n".join(parted)


def _paired(old: tuple[Section, ...], new: tuple[Section, ...]) -> list[int | None]:
    """For each new section the old one it was, or None.

    First those unchanged from the beginning and from the end, then the same
    anywhere, then by name, by chart, by place.
    """
    most = min(len(old), len(new))
    head = next((k for k in range(most) if old[k] != new[k]), most)
    most -= head
    tail = next((k for k in range(most) if old[-1 - k] != new[-1 - k]), most)
    pairs: list[int | None] = [None] * len(new)
    pairs[:head] = range(head)
    pairs[len(new) - tail :] = range(len(old) - tail, len(old))
    free = list(range(head, len(old) - tail))
    tests: tuple[Callable[[int, int], bool], ...] = (
        lambda a, b: old[a] == new[b],
        lambda a, b: bool(old[a].name) and old[a].name == new[b].name,
        lambda a, b: old[a].chart == new[b].chart,
        lambda a, b: a == b and len(old) == len(new),
    )
    for same in tests:
        for b in range(len(new)):
            if pairs[b] is None:
                a = next((a for a in free if same(a, b)), None)
                if a is not None:
                    pairs[b] = a
                    free.remove(a)
    return pairs


class _Patch:
    """Splices for the tables of one text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.spots = spots(text)

    def table(
        self, path: Path, old: Mapping[str, Any], new: Mapping[str, Any], order: tuple[str, ...]
    ) -> list[_Splice]:
        """What turns the fields of one table into the new ones."""
        splices: list[_Splice] = []
        added: dict[int, str] = {}
        for name in order:
            if old[name] == new[name]:
                continue
            spot = self.spots.get((*path, name))
            if new[name] is None:
                if spot:
                    splices.append(self._without(spot))
            elif spot:
                splices.append(self._changed(spot, old[name], new[name]))
            else:
                at = self._after(path, name, order)
                added[at] = added.get(at, "") + f"{name} = {encoded(new[name])}\n"
        for at, lines in added.items():
            broken = "" if at == 0 or self.text[at - 1] == "\n" else "\n"
            splices.append(_Splice(at, at, broken + lines))
        return splices

    def section(self, index: int, old: Section, new: Section) -> list[_Splice]:
        """What turns a section into the new one, its bar tables included."""
        path: Path = ("section", index)
        splices = self.table(path, section_values(old), section_values(new), SECTION_ORDER)
        was, now = dict(old.bar_settings), dict(new.bar_settings)
        pairs = _paired_bars(was, now)
        end = self._section_end(index)
        for number in was:
            here: Path = (*path, "bar", str(number))
            if number not in pairs:
                splices.append(_Splice(self.block_start(here), self._block_end(here), ""))
                continue
            to = pairs[number]
            if to != number:
                splices.append(_Splice(*self.spots[here].key, str(to)))
            splices += self.table(here, bar_values(was[number]), bar_values(now[to]), BAR_ORDER)
        for number, own in now.items():
            if number not in pairs.values():
                later = [each for each in was if pairs.get(each, 0) > number]
                at = self.block_start((*path, "bar", str(min(later)))) if later else end
                broken = "" if at == 0 or self.text[at - 1] == "\n" else "\n"
                table = fresh_bar(number, own)
                splices.append(_Splice(at, at, broken + (table[1:] + "\n" if later else table)))
        return splices

    # Where lines and blocks begin and end.

    def _line_start(self, at: int) -> int:
        return self.text.rfind("\n", 0, at) + 1

    def _line_end(self, at: int) -> int:
        """The offset after the line's break."""
        end = self.text.find("\n", at)
        return len(self.text) if end < 0 else end + 1

    def block_start(self, path: Path) -> int:
        """Where a table's block begins: its header, or the remarks right above it."""
        spot = self.spots.get(path)
        if spot is None:
            return len(self.text)
        start = self._line_start(spot.value[0])
        while start and self.text[self._line_start(start - 1) :].startswith("#"):
            start = self._line_start(start - 1)
        return start

    def _block_end(self, path: Path) -> int:
        """Where the next table's block begins, or the text ends."""
        starts = [self.block_start(each) for each in self._headers()]
        here = self.block_start(path)
        return min((start for start in starts if start > here), default=len(self.text))

    def _headers(self) -> list[Path]:
        return [
            path
            for path, spot in self.spots.items()
            if re.match(r"[ \t]*\[", self.text[self._line_start(spot.value[0]) :])
            and self.text[self._line_start(spot.value[0]) : spot.value[0]].strip(" \t")
            in ("[", "[[")
        ]

    def _section_end(self, index: int) -> int:
        """The offset after a section's last line that is not blank or a remark below a blank."""
        return max(
            self._line_end(spot.value[1])
            for path, spot in self.spots.items()
            if path[:2] == ("section", index)
        )

    def _after(self, path: Path, name: str, order: tuple[str, ...]) -> int:
        """Where a new line for a field goes: after the nearest field that comes before it."""
        for before in reversed(order[: order.index(name)]):
            spot = self.spots.get((*path, before))
            if spot:
                return self._line_end(spot.value[1])
        spot = self.spots.get(path)
        return self._line_end(spot.value[1]) if spot else 0

    # Splices of one value.

    def _without(self, spot: Spot) -> _Splice:
        return _Splice(self._line_start(spot.key[0]), self._line_end(spot.value[1]), "")

    def _changed(self, spot: Spot, old: Any, new: Any) -> _Splice:
        quote = len(spot.quote)
        whole = (spot.value[0] - quote, spot.value[1] + quote)
        if len(spot.quote) == 3:  # the break after the opening quotes may stand before the value
            whole = (self.text.rfind(spot.quote, 0, spot.value[0]), whole[1])
        if not (spot.quote and isinstance(old, str) and isinstance(new, str)):
            return _Splice(*whole, encoded(new))
        start, stop, middle = _middle(old, new)
        multi = len(spot.quote) == 3
        literal = "'" in spot.quote
        fits = re.fullmatch(r"[^'\x00-\x08\x0b-\x1f\x7f]*", middle) if literal else True
        if not fits or (not multi and "\n" in middle):
            return _Splice(*whole, encoded(new))
        offsets = letters(self.text, spot)
        text = middle if literal else escaped(middle, lines=multi)
        return _Splice(offsets[start], offsets[stop], text)


def _middle(old: str, new: str) -> tuple[int, int, str]:
    """Start and end in the old text of what changed, and what the new one has there."""
    most = min(len(old), len(new))
    start = next((k for k in range(most) if old[k] != new[k]), most)
    most -= start
    tail = next((k for k in range(most) if old[-1 - k] != new[-1 - k]), most)
    return start, len(old) - tail, new[start : len(new) - tail]


def _paired_bars(was: Mapping[int, BarSettings], now: Mapping[int, BarSettings]) -> dict[int, int]:
    """Old bar number to new one, for the bars whose table is to be kept.

    Bars that were only renumbered keep theirs in order; else a bar is the one
    of the same number and settings, or of the same settings, or number.
    """
    if was.keys() == now.keys():
        return {number: number for number in was}
    if list(was.values()) == list(now.values()):
        return dict(zip(was, now, strict=True))
    pairs: dict[int, int] = {}
    tests: tuple[Callable[[int, int], bool], ...] = (
        lambda old, new: old == new and was[old] == now[new],
        lambda old, new: was[old] == now[new],
        lambda old, new: old == new,
    )
    for same in tests:
        for old in was:
            if old not in pairs:
                free = (new for new in now if new not in pairs.values() and same(old, new))
                match = next(free, None)
                if match is not None:
                    pairs[old] = match
    return pairs
