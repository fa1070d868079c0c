"""A plan for one sitting: which loop when, for how long, with which hands and tempo.

The hardest links come first, each hand alone before both together, in blocks of
a few minutes that take turns: short interleaved blocks are kept better than one
long one (Carter & Grahn 2016). Every link ends on the first note of the next.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Any

import shared
from engine.part import Part
from engine.song import Song
from engine.workshop.practice_log import PracticeLog, clean_tempo

if TYPE_CHECKING:
    from engine.hands import BarDifficulty, Difficulty

#: Bars of a link, and the share of the written tempo at which a new one begins.
LINK_BARS = 2
FIRST_SHARE = 0.5
STEP = 4.0


@cache
def _care() -> dict[str, Any]:
    return tomllib.loads(shared.text("tables", "practice_care.toml"))


@dataclass(frozen=True, slots=True)
class Block:
    """Some minutes on one link. `bars` inclusive from 1; tempos in beats a minute.

    `hands` is left, right or both; `tempo` where to begin, `goal` where to get;
    `why` says in a few words why these bars, `rest` that a rest comes after, `whole` that
    these are all the bars planned for.
    """

    bars: tuple[int, int]
    hands: str
    minutes: int
    tempo: float
    goal: float
    why: str
    rest: bool = False
    whole: bool = False


def links(song: Song, bars: tuple[int, int]) -> list[tuple[int, int]]:
    """The links of a stretch: two bars each, never across a section, none of one bar but alone."""
    found: list[tuple[int, int]] = []
    first = bars[0]
    while first <= bars[1]:
        section = song.bars[first - 1].section
        ends = [n for n in range(first, bars[1] + 1) if song.bars[n - 1].section == section]
        last = min(first + LINK_BARS - 1, ends[-1])
        if ends[-1] == last + 1:
            last = ends[-1]
        found.append((first, last))
        first = last + 1
    return found


def link_span(song: Song, part: Part, bars: tuple[int, int]) -> tuple[Fraction, Fraction]:
    """Start and end in whole notes of a loop that ends on the first note of the next bar."""
    start, end = song.bars[bars[0] - 1].start, song.bars[bars[1] - 1].end
    if bars[1] == len(song.bars):
        return start, end
    following = song.bars[bars[1]]
    onsets = sorted({note.onset for note in part.notes if end <= note.onset < following.end})
    if not onsets or onsets[0] > end:
        return start, end
    beat_end = end + following.meter.beat
    return start, min([*onsets[1:2], beat_end])


def plan(
    song: Song,
    difficulty: Difficulty,
    log: PracticeLog,
    *,
    bars: tuple[int, int] | None = None,
    minutes: int = 30,
) -> tuple[Block, ...]:
    """Blocks that fill so many minutes, for a stretch of bars or the whole song.

    A link whose clean tempo with both hands is the written one is left to the
    last block, which plays the whole stretch.
    """
    if not song.bars:
        return ()
    stretch = bars or (1, len(song.bars))
    length = _care()["block"]["minutes"]
    room = max(1, minutes // length)
    chosen = _hardest(song, difficulty, log, links(song, stretch))[: max(1, (room - 1 + 2) // 3)]
    order = _interleaved([_steps(song, log, link, worst) for link, worst in chosen])
    blocks = order[: room - 1] if room > 1 else order[:1]
    if room > 1:
        goal = song.bars[stretch[0] - 1].tempo
        begin = min([goal, *(block.tempo for block in blocks)])
        all_of_it = "all of it, without stopping"
        blocks.append(Block(stretch, "both", length, begin, goal, all_of_it, whole=True))
    return _with_rests(blocks)


def _hardest(
    song: Song, difficulty: Difficulty, log: PracticeLog, found: Sequence[tuple[int, int]]
) -> list[tuple[tuple[int, int], BarDifficulty | None]]:
    """Links that are not yet clean at the written tempo, hardest first, with their worst bar."""
    grades = {each.bar: each for each in difficulty.bars}
    ranked: list[tuple[float, tuple[int, int], BarDifficulty | None]] = []
    for link in found:
        tempo = song.bars[link[0] - 1].tempo
        if clean_tempo(log, song, link, "both") >= tempo:
            continue
        worst = max(
            (grades[bar] for bar in range(link[0], link[1] + 1) if bar in grades),
            key=lambda each: each.grade,
            default=None,
        )
        grade = worst.grade if worst else 0.0
        ranked.append((-grade, link, worst))
    ranked.sort(key=lambda each: each[:2])
    return [(link, worst) for _, link, worst in ranked]


def _why(worst: BarDifficulty | None, hands: str) -> str:
    """What makes the bars hard for these hands; nothing of the hand that rests."""
    if worst is None or not worst.reasons:
        return "not yet clean"
    resting = {"right": "left hand", "left": "right hand"}.get(hands)
    for reason in worst.reasons:
        if resting is None or resting not in reason:
            return f"bar {worst.bar}: {reason}"
    return "alone, before both together"


def _steps(
    song: Song, log: PracticeLog, link: tuple[int, int], worst: BarDifficulty | None
) -> list[Block]:
    """A link's blocks: right, left, both; a hand already clean at the goal is left out."""
    goal = song.bars[link[0] - 1].tempo
    minutes = _care()["block"]["minutes"]
    found = []
    for hands in ("right", "left", "both"):
        clean = clean_tempo(log, song, link, hands)
        if clean >= goal:
            continue
        tempo = clean + STEP if clean else max(20.0, round(goal * FIRST_SHARE))
        why = _why(worst, hands)
        found.append(Block(link, hands, minutes, min(goal, tempo), goal, why))
    return found


def _interleaved(steps: Sequence[Sequence[Block]]) -> list[Block]:
    """One block of each link in turn, each link a turn later than the one before it."""
    turns = max((index + len(each) for index, each in enumerate(steps)), default=0)
    return [
        each[turn - index]
        for turn in range(turns)
        for index, each in enumerate(steps)
        if 0 <= turn - index < len(each)
    ]


def _with_rests(blocks: Sequence[Block]) -> tuple[Block, ...]:
    """The same blocks, with a rest after each half-hour's playing."""
    after = _care()["rest"]["after_minutes"]
    found, played = [], 0
    for index, block in enumerate(blocks):
        played += block.minutes
        last = index == len(blocks) - 1
        rest = not last and played + block.minutes > after
        played = 0 if rest else played
        found.append(replace(block, rest=rest))
    return tuple(found)


def cautions() -> tuple[str, ...]:
    """What to say of care, one text at a time."""
    return tuple(each["text"] for each in _care()["caution"])


def rest_due(minutes_since_rest: float) -> bool:
    """Whether it is time for a rest."""
    return bool(minutes_since_rest >= _care()["rest"]["after_minutes"])


def most_minutes(log: PracticeLog, day: date) -> float | None:
    """How long to play on a day at most: ten minutes more than on the longest day before.

    None where nothing is known of days before.
    """
    before = [minutes for each, minutes in log.minutes if each < day]
    return max(before) + _care()["more"]["minutes_a_day"] if before else None
