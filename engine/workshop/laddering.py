"""The tempo ladder of the loop: where it begins and leads, and what a pass does to it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from engine.errors import InputError
from engine.workshop.effects import Mark
from engine.workshop.practice import SLOWEST, set_tempo
from engine.workshop.practice_log import clean_tempo
from engine.workshop.work import Outcome, Work, refuse, say

if TYPE_CHECKING:
    from engine.play.ladder import Ladder

NO_LOOP = "A tempo ladder needs a loop: l loops this bar"


def known_tempo(work: Work) -> float:
    """The tempo at which the loop is known to be clean with the hands that sound, or 0."""
    loop = work.loop
    if loop is None:
        return 0
    return clean_tempo(work.log, work.song, loop.bars, work.hands.word, loop.offsets)


def goal_of(work: Work) -> float:
    """Where a ladder leads: to the tempo set, else to the written one."""
    return work.ladder_goal or work.written_tempo


def start_of(work: Work) -> float:
    """Where a ladder begins: as set, else at the playing tempo below the goal, else a step above
    what is known to be clean, else at half the goal.
    """
    goal = goal_of(work)
    if work.ladder_start:
        return work.ladder_start
    if work.tempo is not None and work.tempo < goal:
        return work.tempo
    clean = known_tempo(work)
    if clean:
        return min(goal, clean + work.preferences.ladder_step)
    return min(goal, max(SLOWEST, round(goal / 2)))


def _begin(work: Work, start: float) -> Ladder:
    from engine.play.ladder import begin

    wish = work.preferences
    return begin(start, goal_of(work), wish.ladder_step, wish.passes, step_back=wish.step_back)


def ladder(work: Work) -> Work:
    """Begin a tempo ladder on the loop, or end it."""
    if work.ladder is not None:
        return say(replace(work, ladder=None), "The tempo ladder is off")
    if work.loop is None:
        return refuse(work, NO_LOOP)
    try:
        rung = _begin(work, start_of(work))
    except InputError as error:
        return refuse(work, f"{error.message}; {error.cure}")
    return say(
        set_tempo(replace(work, ladder=rung), rung.start),
        f"Ladder {rung.start:g} to {rung.goal:g}, up {rung.step:g} after {rung.clean_needed}"
        " clean: 1 clean, 0 slip",
    )


def ladder_again(work: Work) -> Work:
    """The running ladder after one of its settings was changed, on the rung where it stood."""
    old = work.ladder
    if old is None:
        return work
    rung = _begin(work, min(work.ladder_start or old.start, goal_of(work)))
    now = min(rung.goal, max(rung.start, old.now))
    clean = min(old.clean, rung.clean_needed - 1)
    kept = replace(rung, now=now, clean=clean, best=old.best)
    return replace(work, ladder=kept, tempo=None if now == work.written_tempo else now)


def _on_a_ladder(work: Work) -> Work:
    """The work with a ladder: a pass marked without one begins one at the tempo it was played."""
    if work.ladder is not None:
        return work
    goal = max(goal_of(work), work.now_tempo)
    started = replace(work, ladder_goal=goal if goal != work.written_tempo else 0)
    return replace(started, ladder=_begin(started, work.now_tempo))


def clean_pass(work: Work) -> Outcome:
    """Mark a pass clean: after enough of them the tempo rises by a step."""
    from engine.play import ladder as rungs

    if work.loop is None:
        return Outcome(refuse(work, NO_LOOP))
    work = _on_a_ladder(work)
    assert work.ladder is not None
    assert work.loop is not None
    rung = rungs.clean_pass(work.ladder)
    came_clean = rung.best if rung.clean == 0 else 0
    mark = Mark(work.loop, work.hands.word, clean=True, tempo=came_clean)
    if rung.reached:
        done = replace(work, ladder=None)
        return Outcome(say(done, f"Clean at {rung.goal:g}: the goal is reached"), (mark,))
    if rung.clean:
        counted = replace(work, ladder=rung)
        return Outcome(
            say(counted, f"{rung.clean} of {rung.clean_needed} clean at {rung.now:g}"), (mark,)
        )
    climbed = set_tempo(replace(work, ladder=rung), rung.now)
    return Outcome(say(climbed, f"Clean at {came_clean:g}: now {rung.now:g}"), (mark,))


def slip(work: Work) -> Outcome:
    """Mark a slip: the passes of this step count anew, and the tempo may go a step back."""
    from engine.play import ladder as rungs

    if work.loop is None:
        return Outcome(refuse(work, NO_LOOP))
    work = _on_a_ladder(work)
    assert work.ladder is not None
    assert work.loop is not None
    rung = rungs.slip(work.ladder)
    mark = Mark(work.loop, work.hands.word, clean=False)
    back = set_tempo(replace(work, ladder=rung), rung.now)
    lower = rung.now < work.ladder.now
    said = f"A slip: back to {rung.now:g}" if lower else f"A slip: once more at {rung.now:g}"
    return Outcome(say(back, said), (mark,))
