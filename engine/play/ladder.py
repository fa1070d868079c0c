"""The tempo ladder: a pure state machine that lets the tempo rise only after clean passes.

The share of correct trials, not their number, goes with what is kept to the next
day (Duke, Simmons & Cash 2009, Journal of Research in Music Education 56(4)).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from engine.errors import InputError


@dataclass(frozen=True, slots=True)
class Ladder:
    """From `start` to `goal`, up `step` after `clean_needed` clean passes in a row.

    Tempos are in the meter's own beats a minute. `now` is the tempo of this rung
    and `clean` its clean passes so far; `best` the fastest rung that was clean,
    0 before the first; `step_back` whether a slip leads a rung down.
    """

    start: float
    goal: float
    step: float = 4
    clean_needed: int = 3
    step_back: bool = True
    now: float = 0
    clean: int = 0
    best: float = 0

    @property
    def reached(self) -> bool:
        """Whether the goal's tempo was clean."""
        return self.best >= self.goal


def begin(
    start: float, goal: float, step: float = 4, clean_needed: int = 3, *, step_back: bool = True
) -> Ladder:
    """A ladder on its first rung. Raises InputError where it leads nowhere."""
    if not 0 < start <= goal:
        raise InputError(
            f"a ladder from {start:g} to {goal:g} does not rise", "start below the goal"
        )
    if step <= 0 or clean_needed < 1:
        raise InputError(
            f"a ladder cannot rise by {step:g} after {clean_needed} passes",
            "let it rise by more than 0 after at least one pass",
        )
    return Ladder(start, goal, step, clean_needed, step_back, start)


def clean_pass(ladder: Ladder) -> Ladder:
    """A clean pass: the last that is needed completes the rung and leads to the next."""
    if ladder.clean + 1 < ladder.clean_needed:
        return replace(ladder, clean=ladder.clean + 1)
    up = min(ladder.goal, ladder.now + ladder.step)
    return replace(ladder, now=up, clean=0, best=max(ladder.best, ladder.now))


def slip(ladder: Ladder) -> Ladder:
    """A pass with a slip: the rung's count begins anew, a rung lower where it is so set."""
    down = max(ladder.start, ladder.now - ladder.step) if ladder.step_back else ladder.now
    return replace(ladder, now=down, clean=0)
