"""Small scores for the tests of sound, and a keyboard that obeys a transport's commands."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from engine.perform import PedalMove, Performance, Played, TempoMap, TempoPoint
from engine.play.message import CONTROL, OFF, ON, PEDAL, Cancel, Command, Send
from engine.play.score import Beat, Score
from engine.song import Hand

WHOLE = Fraction(1)


def note(
    onset: Fraction | int,
    length: Fraction,
    midi: int = 60,
    hand: Hand = Hand.RIGHT,
    velocity: int = 80,
    late_ms: float = 0.0,
) -> Played:
    start = Fraction(onset)
    return Played(start, start + length, midi, velocity, hand, late_ms)


def score(
    notes: Iterable[Played],
    bars: int = 4,
    quarters: float = 120.0,
    pedal: Iterable[PedalMove] = (),
    tempo: tuple[TempoPoint, ...] = (),
) -> Score:
    """A score in 4/4; at 120 quarters a minute a whole note lasts 2 seconds."""
    points = tempo or (TempoPoint(Fraction(0), quarters),)
    ordered = tuple(sorted(notes, key=lambda played: played.onset))
    performance = Performance(ordered, tuple(pedal), points, Fraction(bars))
    beats = tuple(
        Beat(bar + Fraction(beat, 4), 2 if beat == 0 else 0)
        for bar in range(bars)
        for beat in range(4)
    )
    lengths = tuple((Fraction(bar), WHOLE, Fraction(1, 4)) for bar in range(bars))
    return Score(performance, beats, lengths, TempoMap(points[:1]))


def scale(bars: int = 4, quarters: float = 120.0) -> Score:
    """Eighths that go up, one bar like the other."""
    eighth = Fraction(1, 8)
    return score(
        (note(bar + step * eighth, eighth, 60 + step) for bar in range(bars) for step in range(8)),
        bars,
        quarters,
    )


class Keyboard:
    """What an output does with commands, and a judge of the law of the keyboard."""

    def __init__(self) -> None:
        self.waiting: list[tuple[float, int, Send]] = []
        self.heard: list[Send] = []
        self._count = 0

    def obey(self, commands: Iterable[Command], now: float) -> None:
        """Take commands at a time. Nothing that has sounded may be taken back or come late."""
        for command in commands:
            if isinstance(command, Cancel):
                assert command.at >= now, "took back what has sounded"
                self.waiting = [entry for entry in self.waiting if entry[0] < command.at]
            else:
                assert command.at >= now - 1e-9, "came late"
                self._count += 1
                self.waiting.append((command.at, self._count, command))

    def run(self, until: float = float("inf")) -> None:
        """Let sound what is due."""
        self.waiting.sort(key=lambda entry: entry[:2])
        while self.waiting and self.waiting[0][0] <= until:
            self.heard.append(self.waiting.pop(0)[2])

    def judge(self) -> None:
        """Every struck key was up and is let go; the pedal ends up."""
        down: set[tuple[int, int]] = set()
        pedal = 0
        before = float("-inf")
        for send in self.heard:
            assert send.at >= before - 1e-9
            before = send.at
            message = send.message
            key = (message.channel, message.number)
            if message.kind == ON:
                assert key not in down, f"{key} struck twice at {send.at}"
                assert 1 <= message.value <= 127
                down.add(key)
            elif message.kind == OFF:
                down.discard(key)
            elif message.number == PEDAL:
                pedal = message.value
        assert not down, f"{down} stuck"
        assert pedal == 0

    def strikes(self, channel: int = 0) -> list[tuple[float, int]]:
        """(time, key) of every strike."""
        return [
            (send.at, send.message.number)
            for send in self.heard
            if send.message.kind == ON and send.message.channel == channel
        ]

    def controls(self) -> list[tuple[float, int]]:
        """(time, value) of every pedal move."""
        return [
            (send.at, send.message.value)
            for send in self.heard
            if send.message.kind == CONTROL and send.message.number == PEDAL
        ]
