"""What the screen asks of the player, which opens only when the first picture is there."""

from __future__ import annotations

import time
from collections.abc import Callable
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.song import Hand
from engine.workshop import Hands, Work

if TYPE_CHECKING:
    from engine.play import Player, Score

#: Seconds that a player may take from being asked to play to playing.
PATIENCE = 1.0


class Sound:
    """The player, opened at first use, and told of what differs between two states of the work."""

    def __init__(
        self, opener: Callable[[], Player], clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._opener = opener
        self._clock = clock
        self._player: Player | None = None
        self._asked_at: float | None = None
        self._stop_at: Fraction | None = None

    @property
    def player(self) -> Player:
        """The player itself."""
        if self._player is None:
            self._player = self._opener()
        return self._player

    @property
    def said(self) -> str:
        """One line: where it sounds, or what is missing and how to mend it."""
        if self._player is None:
            return ""
        return self._player.notice or self._player.output

    def load(self, score: Score) -> None:
        self.player.load(score)

    def play(self, work: Work, at: Fraction) -> None:
        """Play from a time, in the work's loop if it has one."""
        self._asked_at, self._stop_at = self._clock(), None
        self.player.play(at, loop=stretch(work), count_in=1 if work.count_in else 0)

    def strike(self, at: Fraction, until: Fraction) -> None:
        """Sound what is struck at a time, and stop before the next is."""
        self._asked_at, self._stop_at = self._clock(), until
        self.player.play(at)

    def stop(self) -> None:
        self._asked_at = self._stop_at = None
        self.player.stop()

    def place(self) -> Fraction | None:
        """What sounds now, in whole notes; None once it has stopped by itself."""
        where = self.player.where()
        if where.state == "stopped":
            patient = self._asked_at is not None and self._clock() - self._asked_at < PATIENCE
            return Fraction(where.place).limit_denominator(960) if patient else None
        self._asked_at = None
        return Fraction(where.place).limit_denominator(960)

    def end_strike(self) -> None:
        """Stop a struck group when the next is near."""
        if self._stop_at is None or self._player is None:
            return
        where = self._player.where()
        if where.state != "stopped" and where.place >= self._stop_at - Fraction(1, 32):
            self.stop()

    def tell(self, before: Work, after: Work) -> None:
        """Tell the player what differs."""
        if after.loop != before.loop or after.shown is not before.shown:
            self._told_loop(before, after)
        if tempo_factor(after) != tempo_factor(before):
            self.player.set_tempo(tempo_factor(after))
        if after.hands is not before.hands:
            self.player.mute(Hand.LEFT, 0.0 if after.hands is Hands.RIGHT else 1.0)
            self.player.mute(Hand.RIGHT, 0.0 if after.hands is Hands.LEFT else 1.0)
        if after.click != before.click:
            self.player.click(after.click)

    def _told_loop(self, before: Work, after: Work) -> None:
        wanted = stretch(after)
        if wanted != stretch(before):
            self.player.set_loop(wanted)

    def close(self) -> None:
        if self._player is not None:
            self._player.close()


def stretch(work: Work) -> tuple[Fraction, Fraction] | None:
    """The loop in whole notes."""
    if work.loop is None:
        return None
    bars = work.shown.bars
    first, last = (min(number, len(bars)) for number in work.loop)
    return bars[first - 1].start, bars[last - 1].end


def tempo_factor(work: Work) -> float:
    """How many times as fast as written it plays."""
    return work.now_tempo / work.written_tempo
