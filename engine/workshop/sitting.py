"""A sitting: the practice plan as a list that one walks, block by block, with its minutes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.part import Part
from engine.workshop.laddering import ladder_again
from engine.workshop.loop import Loop
from engine.workshop.plan import Block, plan
from engine.workshop.practice import cautioned, play_from_start, set_tempo
from engine.workshop.work import Cursor, Extent, Hands, Outcome, Work, say

_HANDS = {"right": Hands.RIGHT, "left": Hands.LEFT, "both": Hands.BOTH}


@dataclass(frozen=True, slots=True)
class Sitting:
    """`blocks` in their order; `at` is the one being played, -1 before the first.

    `done` are those whose minutes are over, `seconds` what was played of this
    one; `extent` and `minutes` are what was planned for.
    """

    blocks: tuple[Block, ...]
    extent: Extent
    minutes: int
    at: int = -1
    seconds: float = 0.0
    done: frozenset[int] = frozenset()

    @property
    def next(self) -> int:
        """The block to go on with: this one until its minutes are over, then the next left."""
        if self.at >= 0 and self.at not in self.done:
            return self.at
        left = (n for n in range(len(self.blocks)) if n not in self.done and n > self.at)
        return next(left, max(0, len(self.blocks) - 1))


def bars_of(work: Work, extent: Extent) -> tuple[int, int]:
    """The bars to be practised: the selection, the section under the cursor, or all."""
    if extent is Extent.SONG:
        return 1, len(work.song.bars)
    if extent is Extent.BAR:
        return work.selection
    inside = [bar.number for bar in work.song.bars if bar.section == work.bar.section]
    return inside[0], inside[-1]


def planned(work: Work, part: Part, extent: Extent, minutes: int) -> Work:
    """The work with a new plan; nothing of it is begun yet."""
    from engine.hands import difficulty

    hard = difficulty(part.notes, work.song)
    bars = bars_of(work, extent)
    blocks = plan(work.song, hard, work.log, bars=bars, minutes=minutes)
    kept = replace(work.preferences, minutes=minutes)
    return replace(work, sitting=Sitting(blocks, extent, minutes), preferences=kept)


def begin_block(work: Work, number: int) -> Outcome:
    """Play a block of the plan: its loop, hands, tempo and ladder."""
    from engine.play.ladder import begin

    sitting = work.sitting
    assert sitting is not None
    block = sitting.blocks[number]
    wish = work.preferences
    link = block.bars[1] < len(work.song.bars) and not block.whole
    ready = replace(
        work,
        sitting=replace(sitting, at=number, seconds=0.0),
        loop=Loop(*block.bars, link=link),
        hands=_HANDS[block.hands],
        cursor=Cursor(block.bars[0], 0),
        anchor=None,
        steps=None,
        caution="",
        ladder_start=0,
        ladder_goal=0,
        ladder=begin(
            block.tempo, block.goal, wish.ladder_step, wish.passes, step_back=wish.step_back
        ),
    )
    told = ladder_again(set_tempo(cautioned(ready), block.tempo))
    return play_from_start(say(told, "1 clean, 0 slip, W plan"))


def played(work: Work, seconds: float) -> tuple[Work, str]:
    """The work after so many more seconds of playing, and what to say when a block is over."""
    sitting = work.sitting
    if sitting is None or sitting.at < 0 or sitting.at in sitting.done:
        return work, ""
    block = sitting.blocks[sitting.at]
    now = replace(sitting, seconds=sitting.seconds + seconds)
    if now.seconds < block.minutes * 60:
        return replace(work, sitting=now), ""
    over = replace(now, done=now.done | {now.at})
    text = f"{block.minutes} minutes on these bars are over: W shows what comes next"
    if block.rest:
        text = f"{block.minutes} minutes are over; now take five minutes off"
    elif over.at == len(over.blocks) - 1:
        text = "That was the last of the plan: well practised"
    return replace(work, sitting=over), text
