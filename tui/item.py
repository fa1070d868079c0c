"""One line of a list that is open on the screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from engine.song import Song
from engine.workshop import Outcome, Work

Run = Callable[[Work], "Work | Outcome"]


@dataclass(frozen=True, slots=True)
class Item:
    """A line of a list. `refusal` greys it and says why; `song` is what choosing it would give.

    `everywhere` takes it at all like places; `turn` is what → (1) and ← (-1) do
    to it; `stays` keeps the list open after Enter.
    """

    label: str
    detail: str = ""
    keys: str = ""
    refusal: str = ""
    song: Callable[[Work], Song] | None = None
    run: Run | None = None
    everywhere: Run | None = None
    heading: bool = False
    turn: Callable[[Work, int], Work] | None = None
    stays: bool = False
