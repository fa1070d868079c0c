"""The practice plan: few goals, named bars, hands, tempi and boxes to tick."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from engine.song import Bar, Song

LINK_BARS = 4
MOST_LINKS = 6


@dataclass(frozen=True, slots=True)
class Step:
    """One goal: `first` to `last` bar, `tempo` in the meter's beat, `boxes` clean passes."""

    first: int
    last: int
    hands: str
    tempo: int
    how: str
    boxes: int
    into: int | None = None  # ends on the first note of this bar

    @property
    def bars(self) -> str:
        shown = str(self.first) if self.first == self.last else f"{self.first}–{self.last}"
        return shown if self.into is None else f"{shown} → {self.into}"


@dataclass(frozen=True, slots=True)
class Practised:
    """What is known of a loop, ready to be printed: `passes` is like “6 of 8 clean”."""

    bars: str
    hands: str
    tempo: str
    passes: str
    day: str

    @property
    def cells(self) -> tuple[str, ...]:
        return (self.bars, self.hands, self.tempo, self.passes, self.day)


#: The heads of the table of loops practised.
PRACTISED = ("Bars", "Hands", "Clean at", "Passes", "Last practised")


def practice_plan(
    song: Song, hardest: Sequence[int], steps: Mapping[str, Mapping[str, Any]]
) -> tuple[Step, ...]:
    """Skeleton, hard bars hands apart and together, links, sections, the whole.

    Sections that are the same chart with the same figures are practised once.
    """
    if not song.bars:
        return ()
    last = song.bars[-1].number
    out = [_step(song, steps["skeleton"], 1, last, "together")]
    for bar in hardest:
        into = bar + 1 if bar < last else None
        out.append(_step(song, steps["hard_apart"], bar, bar, "apart", into))
        out.append(_step(song, steps["hard_together"], bar, bar, "together", into))
    sections = _different_sections(song)
    links = [link for bars in sections for link in _links(bars)]
    for bars in links[:MOST_LINKS]:
        into = bars[-1].number + 1 if bars[-1].number < last else None
        out.append(
            _step(song, steps["link"], bars[0].number, bars[-1].number, "together", into)
        )  # fmt: skip
    if len(links) > 1:
        out += [
            _step(song, steps["section"], bars[0].number, bars[-1].number, "together")
            for bars in sections
        ]
    out.append(_step(song, steps["whole"], 1, last, "together"))
    return tuple(out)


def _step(
    song: Song,
    row: Mapping[str, Any],
    first: int,
    last: int,
    hands: str,
    into: int | None = None,
) -> Step:
    full = song.bars[first - 1].tempo
    tempo = full if row["tempo"] == 1.0 else max(20.0, 2 * round(full * row["tempo"] / 2))
    return Step(first, last, hands, round(tempo), row["how"], row["boxes"], into)


def _different_sections(song: Song) -> list[list[Bar]]:
    found: dict[object, list[Bar]] = {}
    for index, section in enumerate(song.sections):
        bars = [bar for bar in song.bars if bar.section == index]
        content = (
            section.settings,
            section.bar_settings,
            tuple(tuple((slot.onset, slot.chord) for slot in bar.slots) for bar in bars),
        )
        if bars and content not in found:
            found[content] = bars
    return list(found.values())


def _links(bars: Sequence[Bar]) -> list[Sequence[Bar]]:
    cuts = list(range(0, len(bars), LINK_BARS))
    if len(cuts) > 1 and len(bars) - cuts[-1] == 1:
        cuts.pop()
    return [bars[low:high] for low, high in zip(cuts, [*cuts[1:], len(bars)], strict=True)]
