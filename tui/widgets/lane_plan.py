"""Where things stand in the figure pane: which bars are shown, a time's column, a pitch's row."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from engine.part import Dynamic, Part, PartNote, PedalMark, Token
from engine.pitch import Pitch
from engine.song import Bar, Song
from engine.workshop import chart_lines, line_of

LABEL = 7  # columns of pitch names at the left
NARROWEST = 3  # columns of the finest slot, so that a token and a blank fit


@dataclass(frozen=True, slots=True)
class BarColumns:
    """One bar's columns: its bar line at `x`, then `slots` slots of `step` columns each.

    `length` and `end` are the bar's; whole numbers are reckoned with, for speed.
    """

    bar: Bar
    x: int
    slots: int
    step: int
    width: int
    length: Fraction
    end: Fraction

    def column(self, at: Fraction) -> int:
        """The column of a place in the bar, in whole notes from its start."""
        cells = self.slots * self.step if self.step >= 1 else self.width - 1
        over, under = at.numerator * self.length.denominator, at.denominator * self.length.numerator
        return self.x + 1 + over * cells // under


@dataclass(frozen=True, slots=True, eq=False)
class LanePlan:
    """The bars shown, left to right."""

    bars: tuple[BarColumns, ...]

    @property
    def start(self) -> Fraction:
        return self.bars[0].bar.start

    @property
    def end(self) -> Fraction:
        return self.bars[-1].end

    @property
    def right(self) -> int:
        """The column of the last bar line."""
        return self.bars[-1].x + self.bars[-1].width

    def column(self, time: Fraction) -> int | None:
        """The column of a time of the song, None outside the bars shown."""
        for columns in self.bars:
            if columns.bar.start <= time < columns.end:
                return columns.column(time - columns.bar.start)
        return None

    def clamped(self, time: Fraction) -> int:
        """The column of a time, the edges standing for times outside."""
        if time < self.start:
            return self.bars[0].x + 1
        found = self.column(time)
        return self.right if found is None else found


class PartIndex:
    """A part bar by bar, so that drawing some bars looks at no others.

    `sounding` are the notes that sound in a bar, those held into it too;
    `slots` how many slots show all of a bar's onsets, `most` the most of any bar.
    """

    def __init__(self, part: Part | None, song: Song) -> None:
        self.part, self.song = part, song
        self.plans: dict[tuple[int, int, int], LanePlan] = {}
        self.sounding: dict[int, list[PartNote]] = {bar.number: [] for bar in song.bars}
        self.tokens: dict[int, list[Token]] = {bar.number: [] for bar in song.bars}
        self.slots = {bar.number: bar.meter.count for bar in song.bars}
        self.pedal_down: dict[int, bool] = {}
        self.pedal: dict[int, list[PedalMark]] = {bar.number: [] for bar in song.bars}
        self.dynamics: dict[int, list[Dynamic]] = {bar.number: [] for bar in song.bars}
        if part is not None:
            self._fill(part)
        self.most = max(self.slots.values(), default=1)

    def _fill(self, part: Part) -> None:
        bars = self.song.bars
        for note in part.notes:
            number = note.bar
            while number <= len(bars) and bars[number - 1].start < note.end:
                self.sounding[number].append(note)
                number += 1
        for token in part.tokens:
            if token.bar in self.tokens and token.duration > 0:
                self.tokens[token.bar].append(token)
                parts = -(-bars[token.bar - 1].meter.bar // token.duration)
                self.slots[token.bar] = max(self.slots[token.bar], parts)
        for dynamic in part.dynamics:
            self.dynamics[self.song.bar_at(dynamic.onset).number].append(dynamic)
        down, marks = False, iter((*part.pedal, None))
        mark = next(marks)
        for bar in bars:
            self.pedal_down[bar.number] = down
            while mark is not None and mark.onset < bar.end:
                self.pedal[bar.number].append(mark)
                down = mark.down
                mark = next(marks)


_INDEXED: deque[PartIndex] = deque(maxlen=4)


def index_of(part: Part | None, song: Song) -> PartIndex:
    """The index of a part, made once: the very same part and song give the very same index."""
    for known in _INDEXED:
        if known.part is part and known.song is song:
            return known
    made = PartIndex(part, song)
    _INDEXED.append(made)
    return made


def plan(song: Song, part: Part | None, bar: int, width: int) -> LanePlan:
    """The bars to show for a bar under the cursor: one, two or four of its line.

    The same bars of the same part in the same width give the very same plan.
    """
    room = width - LABEL - 1
    index = index_of(part, song)
    line = chart_lines(song)[line_of(song, bar)]
    count = next((n for n in (4, 2) if room // n > index.most * NARROWEST), 1)
    first = line.index(bar) // count * count
    shown = line[first : first + count]
    wanted = (shown[0], count, width)
    if wanted not in index.plans:
        index.plans[wanted] = LanePlan(
            tuple(
                _columns(song.bars[number - 1], LABEL + place * (room // count), room // count,
                         index.slots[number])
                for place, number in enumerate(shown)
            )
        )  # fmt: skip
    return index.plans[wanted]


def _columns(bar: Bar, x: int, wide: int, slots: int) -> BarColumns:
    return BarColumns(bar, x, slots, (wide - 1) // slots, wide, bar.meter.bar, bar.end)


@dataclass(frozen=True, slots=True)
class PitchRow:
    """One row of the pane: the pitches it stands for, high to low, and their usual name."""

    midi: tuple[int, ...]
    label: Pitch

    @property
    def shared(self) -> bool:
        return len(self.midi) > 1


def pitch_rows(notes: Sequence[PartNote], room: int) -> tuple[PitchRow, ...]:
    """Rows for the pitches that sound, high to low; near pitches share one where room is short.

    Pitches struck together share a row only when nothing else is left to join.
    """
    names: dict[int, Pitch] = {}
    onsets: dict[int, set[Fraction]] = {}
    for note in notes:
        names.setdefault(note.pitch.midi, note.pitch)
        onsets.setdefault(note.pitch.midi, set()).add(note.onset)
    groups = [[midi] for midi in sorted(names, reverse=True)]
    times = [set(onsets[group[0]]) for group in groups]
    while len(groups) > max(1, room):
        at = min(
            range(len(groups) - 1),
            key=lambda i: (
                50 * len(times[i] & times[i + 1]) + groups[i][0] - groups[i + 1][-1],
                i,
            ),
        )
        groups[at] += groups.pop(at + 1)
        times[at] |= times.pop(at + 1)
    return tuple(PitchRow(tuple(group), names[group[0]]) for group in groups)
