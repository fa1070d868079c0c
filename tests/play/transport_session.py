"""A transport and its keyboard on a clock that the test moves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from engine.perform import Played
from engine.play.message import Command
from engine.play.score import Score
from engine.play.transport import Options, State, Transport
from tests.play.play_scores import Keyboard, scale


class Session:
    """A transport and its keyboard on a clock that the test moves."""

    def __init__(self, score: Score | None = None, options: Options | None = None) -> None:
        self.transport = Transport(score or scale(), options)
        self.keyboard = Keyboard()
        self.now = 0.0

    def pass_time(self, seconds: float, step: float = 0.03) -> None:
        end = self.now + seconds
        while self.now < end - 1e-9:
            self.now = min(self.now + step, end)
            self.keyboard.run(self.now)
            self.keyboard.obey(self.transport.tick(self.now), self.now)

    def play(self, start: Fraction = Fraction(0), bars_in: int = 0) -> None:
        self.obey(self.transport.play(start, self.now, bars_in=bars_in))

    def change(self, **fields: Any) -> None:
        options = replace(self.transport.options, **fields)
        self.obey(self.transport.change(options, self.now))

    def load(self, score: Score) -> None:
        self.obey(self.transport.load(score, self.now))

    def obey(self, commands: Sequence[Command]) -> None:
        self.keyboard.obey(commands, self.now)

    def end(self) -> None:
        self.obey(self.transport.stop(self.now))
        self.keyboard.run()
        self.keyboard.judge()

    @property
    def state(self) -> State:
        return self.transport.seen.where(self.now).state

    @property
    def place(self) -> float:
        return self.transport.seen.where(self.now).place


def distances(times: list[float]) -> list[float]:
    return [after - before for before, after in pairwise(times)]


def moves(session: Session) -> tuple[list[float], list[int]]:
    """When the pedal moved, and to what."""
    found = session.keyboard.controls()
    return [at for at, _ in found], [value for _, value in found]


def sung() -> Score:
    """The scale with a melody of half notes on the keys that the hands strike too."""
    plain = scale()
    notes = tuple(
        Played(Fraction(n, 2), Fraction(n + 1, 2), 60 + n % 8, 90, None) for n in range(8)
    )
    return replace(plain, performance=replace(plain.performance, melody=notes))
