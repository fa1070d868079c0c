"""The chart grammar: bars of chords as text, read into slots.

    chart  = { bar "|" }          line breaks are free, `||` is one bar line
    bar    = "%"                  the bar before once more, also across lines and sections
           | item { item }
    item   = chord | "N.C." | "?" | "." | "(" item { item } ")"
    remark = "#" … end of line    where a word could begin; inside a word # is the sharp

Chords without dots share the bar: by the meter's beat groups where there are as
many chords as groups (two chords in 5/4 are 3+2), else equally. As soon as a dot
or a bracket stands in a bar, every item is one beat of the meter's own (a half in
2/2, a dotted quarter in 6/8): a dot holds what sounds for one beat more, a bracket
divides one beat into equal parts, so that `C . (. D) .` changes an eighth early
in 4/4. Such a bar must come out exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from engine.chord import is_no_chord, parse_chord
from engine.errors import AlbertiError, ChartError, Place
from engine.meter import Meter
from engine.song.timing import Sign, beats_of, by_beats, most_chords, times
from engine.song.value import Slot, SlotKind

_NOTE_VALUES = {
    Fraction(1): "whole note", Fraction(1, 2): "half note", Fraction(1, 4): "quarter note",
    Fraction(1, 8): "eighth note", Fraction(1, 16): "sixteenth note",
    Fraction(3, 8): "dotted quarter", Fraction(3, 16): "dotted eighth",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Item:
    """A word of a bar and its (start, end) in the chart; `group` numbers its bracket, or is -1."""

    text: str
    start: int
    end: int
    group: int = -1


@dataclass(frozen=True, slots=True)
class WrittenBar:
    """A bar as written: its place between the bar lines and its items, not yet timed.

    `words` are the spans of its items and brackets, `signs` its items as far as
    time goes, both in order.
    """

    start: int
    end: int
    items: tuple[Item, ...]
    words: tuple[tuple[int, int], ...]
    signs: tuple[Sign, ...]
    closed: bool  # whether a bar line follows

    @property
    def repeats(self) -> bool:
        return self.items[0].text == "%"


def place_at(text: str, start: int, end: int, file: str = "") -> Place:
    """The place of `text[start:end]`, as far as it lies on one line."""
    start = max(0, min(start, len(text)))
    line_start = text.rfind("\n", 0, start) + 1
    line_end = text.find("\n", start)
    line_end = len(text) if line_end < 0 else line_end
    return Place(
        start - line_start + 1,
        max(1, min(end, line_end) - start),
        text.count("\n", 0, start) + 1,
        text[line_start:line_end].rstrip("\r"),
        file,
    )


@lru_cache(maxsize=512)
def split(chart: str) -> tuple[WrittenBar, ...]:
    """The bars of a chart as written. Raises ChartError, its place in the chart."""
    return _Splitter(chart).read()


class _Splitter:
    """One pass over a chart; `at` is the offset of what is not read yet."""

    def __init__(self, chart: str) -> None:
        self.chart = chart
        self.at = 0
        self.start = 0  # of the bar being read
        self.line_broken = True  # whether a line broke or the text began since the last bar line
        self.items: list[Item] = []
        self.words: list[tuple[int, int]] = []
        self.bars: list[WrittenBar] = []
        self.group = -1
        self.groups = 0
        self.group_start = 0

    def read(self) -> tuple[WrittenBar, ...]:
        while self.at < len(self.chart):
            char = self.chart[self.at]
            if char == "|":
                self._bar_line()
            elif char == "\n":
                self.line_broken = True
                self.at += 1
            elif char.isspace():
                self.at += 1
            elif char == "#":
                end = self.chart.find("\n", self.at)
                self.at = len(self.chart) if end < 0 else end
            elif char in "()":
                self._bracket(char)
            else:
                self._word()
        self._close(closed=False)
        return tuple(self.bars)

    def _fail(self, message: str, cure: str, start: int, end: int) -> ChartError:
        return ChartError(message, cure, place_at(self.chart, start, end))

    def _bar_line(self) -> None:
        blank = self.at > self.start and not self.items
        if blank and not self.line_broken:
            raise self._fail(
                "this bar is empty",
                "write its chords, % for the bar before, N.C. for no chord or ? for an open bar",
                self.start,
                self.at,
            )
        self._close(closed=True)
        self.at += 1
        self.start = self.at
        self.line_broken = False

    def _close(self, *, closed: bool) -> None:
        if self.group >= 0:
            raise self._fail(
                "this bracket is not closed in its bar",
                "close it with ) after the parts of its beat",
                self.group_start,
                self.at,
            )
        if self.items:
            items, words = tuple(self.items), tuple(self.words)
            signs = tuple(Sign(item.text == ".", item.group) for item in items)
            self.bars.append(WrittenBar(self.start, self.at, items, words, signs, closed))
            self.items, self.words, self.groups = [], [], 0

    def _bracket(self, char: str) -> None:
        here = (self.at, self.at + 1)
        if char == "(":
            if self.group >= 0:
                raise self._fail(
                    "a bracket stands inside a bracket",
                    "a bracket divides one beat into equal parts and holds no other",
                    *here,
                )
            self.group, self.group_start = self.groups, self.at
            self.groups += 1
        else:
            if self.group < 0:
                raise self._fail("this bracket was not opened", "take it out, or open it", *here)
            if not self.items or self.items[-1].group != self.group:
                raise self._fail(
                    "this bracket is empty",
                    "write the parts of its beat in it, like (. D)",
                    self.group_start,
                    self.at + 1,
                )
            self.group = -1
        self.words.append(here)
        self.at += 1

    def _word(self) -> None:
        start, depth = self.at, 0
        while self.at < len(self.chart):
            char = self.chart[self.at]
            if char in "|\n" or (char.isspace() and not self._inside(depth)):
                break
            if char == ")":
                if depth == 0:
                    break
                depth -= 1
            depth += char == "("
            self.at += 1
        end = start + len(self.chart[start : self.at].rstrip())
        if not self.chart[start:end].strip(":"):
            raise self._fail(
                "a chart has no repeat signs", "write the bars, or the section, once more",
                start, end,
            )  # fmt: skip
        self.items.append(Item(self.chart[start:end], start, end, self.group))
        self.words.append((start, end))

    def _inside(self, depth: int) -> bool:
        """Whether a blank stands inside a symbol's own brackets, as in `C7(b9, #11)`."""
        if depth == 0:
            return False
        for char in self.chart[self.at : self.at + 40]:
            if char in "|\n(":
                return False
            if char == ")":
                return True
        return False


def fit(
    chart: str,
    bar: WrittenBar,
    meter: Meter,
    before: Sequence[Slot] = (),
    before_length: Fraction = Fraction(0),
    number: int = 0,
) -> tuple[Slot, ...]:
    """The slots of a written bar in a meter.

    `before` are the slots of the bar before, for `%`, and `before_length` its
    length in whole notes; `number` names the bar in errors. Raises ChartError
    or ChordError, the place in the chart.
    """
    here = f"bar {number}" if number else "this bar"
    if any(item.text == "%" for item in bar.items):
        return _repeated(chart, bar, meter, before, before_length, here)
    timed = times(bar.signs, meter)
    if timed is None:
        raise _misfit(chart, bar, meter, here)
    return tuple(_slot(chart, bar.items[at], onset, length) for at, onset, length in timed)


def _repeated(
    chart: str,
    bar: WrittenBar,
    meter: Meter,
    before: Sequence[Slot],
    before_length: Fraction,
    here: str,
) -> tuple[Slot, ...]:
    mark = next(item for item in bar.items if item.text == "%")
    place = place_at(chart, mark.start, mark.end)
    if len(bar.items) > 1:
        raise ChartError(
            f"% stands beside other signs in {here}", "% repeats a whole bar: write it alone", place
        )
    if not before:
        raise ChartError(
            f"{here} repeats the bar before it, but it is the first", "write its chords out", place
        )
    span = (mark.start, mark.end)
    if len(before) == 1:
        return (replace(before[0], duration=meter.bar, span=span),)
    if before_length != meter.bar:
        raise ChartError(
            f"{here} repeats a bar of another length", f"write its chords out in {meter}", place
        )
    return tuple(replace(slot, span=span) for slot in before)


def _misfit(chart: str, bar: WrittenBar, meter: Meter, here: str) -> ChartError:
    """Why a bar's signs don't fill its meter."""
    first, last = bar.items[0], bar.items[-1]
    if not by_beats(bar.signs):
        count, most = len(bar.items), most_chords(meter)
        return ChartError(
            f"{here} has {count} chords, too many for {meter}",
            f"a bar of {meter} holds {most} at most, shared equally; "
            "write more of them in brackets, two or three to a beat",
            place_at(chart, bar.items[most].start, last.end),
        )
    if first.text == ".":
        return ChartError(
            f"{here} begins with a dot",
            "a dot holds the chord before it in the bar: begin with a chord, N.C. or ?",
            place_at(chart, first.start, first.end),
        )
    beats = beats_of(bar.signs)
    many = len(beats) > meter.beats
    wrong = bar.items[beats[meter.beats][0]] if many else first
    value = _NOTE_VALUES.get(meter.beat, f"1/{meter.unit} note")
    return ChartError(
        f"{here} has {_counted(len(beats))}, too {'many' if many else 'few'} for {meter}",
        f"a bar of {meter} holds {_counted(meter.beats)} (a beat is a {value}), "
        "and in a bar with dots each sign is one beat",
        place_at(chart, wrong.start - (1 if wrong.group >= 0 else 0), last.end),
    )


def _counted(beats: int) -> str:
    return f"{beats} beat{'s' if beats != 1 else ''}"


def _slot(chart: str, item: Item, onset: Fraction, duration: Fraction) -> Slot:
    span = (item.start, item.end)
    if item.text == "?":
        return Slot(onset, duration, SlotKind.OPEN, None, item.text, span)
    if is_no_chord(item.text):
        return Slot(onset, duration, SlotKind.NONE, None, item.text, span)
    try:
        chord = parse_chord(item.text)
    except AlbertiError as error:
        inner = error.place or Place()
        start = item.start + inner.column - 1
        raise error.at(place_at(chart, start, start + inner.length)) from None
    return Slot(onset, duration, SlotKind.CHORD, chord, item.text, span)
