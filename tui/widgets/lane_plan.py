"""Where things stand in the figure pane: which bars are shown, a time's column, a pitch's row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from engine.part import Part, PartNote
from engine.pitch import Pitch
from engine.song import Bar, Song
from engine.workshop import chart_lines, line_of

LABEL = 7  # columns of pitch names at the left
NARROWEST = 3  # columns of the finest slot, so that a token and a blank fit


@dataclass(frozen=True, slots=True)
class BarColumns:
    """One bar's columns: its bar line at `x`, then `slots` slots of `step` columns each."""

    bar: Bar
    x: int
    slots: int
    step: int
    width: int

    def column(self, at: Fraction) -> int:
        """The column of a place in the bar, in whole notes from its start."""
        if self.step >= 1:
            return self.x + 1 + int(at / self.bar.meter.bar * self.slots * self.step)
        return self.x + 1 + int(at / self.bar.meter.bar * (self.width - 1))


@dataclass(frozen=True, slots=True)
class LanePlan:
    """The bars shown, left to right."""

    bars: tuple[BarColumns, ...]

    @property
    def start(self) -> Fraction:
        return self.bars[0].bar.start

    @property
    def end(self) -> Fraction:
        return self.bars[-1].bar.end

    @property
    def right(self) -> int:
        """The column of the last bar line."""
        return self.bars[-1].x + self.bars[-1].width

    def column(self, time: Fraction) -> int | None:
        """The column of a time of the song, None outside the bars shown."""
        for columns in self.bars:
            if columns.bar.start <= time < columns.bar.end:
                return columns.column(time - columns.bar.start)
        return None

    def clamped(self, time: Fraction) -> int:
        """The column of a time, the edges standing for times outside."""
        if time < self.start:
            return self.bars[0].x + 1
        found = self.column(time)
        return self.right if found is None else found


@lru_cache(maxsize=8)
def finest(part: Part | None, song: Song) -> dict[int, int]:
    """Slots of each bar (by number): enough for its shortest token and every onset."""
    slots = {bar.number: bar.meter.count for bar in song.bars}
    if part is None:
        return slots
    for token in part.tokens:
        if token.bar in slots and token.duration > 0:
            length = song.bars[token.bar - 1].meter.bar
            slots[token.bar] = max(slots[token.bar], -(-length // token.duration))
    return slots


def plan(song: Song, part: Part | None, bar: int, width: int) -> LanePlan:
    """The bars to show for a bar under the cursor: one, two or four of its line."""
    room = width - LABEL - 1
    slots = finest(part, song)
    most = max(slots.values())
    line = chart_lines(song)[line_of(song, bar)]
    count = next((n for n in (4, 2) if room // n > most * NARROWEST), 1)
    first = line.index(bar) // count * count
    shown = line[first : first + count]
    wide = room // count
    return LanePlan(
        tuple(
            BarColumns(
                song.bars[number - 1],
                LABEL + index * wide,
                slots[number],
                (wide - 1) // slots[number],
                wide,
            )
            for index, number in enumerate(shown)
        )
    )


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
