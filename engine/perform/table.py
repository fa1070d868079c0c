"""The table of performance values, read from the shared data with its sources."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache

import shared


@dataclass(frozen=True, slots=True)
class Balance:
    """Velocity steps by which notes stand off the written dynamic."""

    melody: int
    top: int
    inner: int
    bass: int
    left: int
    doubling: int
    outside: int
    meter: tuple[int, ...]
    phrase: int
    phrase_bars: int


@dataclass(frozen=True, slots=True)
class Pedalling:
    """When the pedal moves after a change, in ms, and the longest share of the time there is."""

    release_ms: float
    press_ms: float
    share: float


@dataclass(frozen=True, slots=True)
class Timing:
    """The just noticeable displacement of an onset, and the share of it that is used."""

    floor_ms: float
    floor_below_ms: float
    share: float
    used: float

    def noticeable_ms(self, apart_ms: float) -> float:
        """The displacement just noticed between onsets so far apart."""
        return self.floor_ms if apart_ms < self.floor_below_ms else self.share * apart_ms


@dataclass(frozen=True, slots=True)
class Roll:
    """A rolled chord: 1/`step` of a whole note from note to note, in 1/`within` of its length."""

    step: int
    within: int


@dataclass(frozen=True, slots=True)
class Ritard:
    """The final ritard v(x) = [1 + (w^q - 1) x]^(1/q) over the last `bars` bars."""

    q: float
    w: float
    bars: int

    def share(self, x: float) -> float:
        """Tempo at a place 0–1 of the ritard, as a share of the tempo before it."""
        return float((1 + (self.w**self.q - 1) * x) ** (1 / self.q))


@dataclass(frozen=True, slots=True)
class Table:
    """All of them."""

    velocity: dict[str, int]
    balance: Balance
    pedal: Pedalling
    timing: Timing
    roll: Roll
    ritard: Ritard


@cache
def table() -> Table:
    """The values of shared/tables/performance.toml."""
    data = tomllib.loads(shared.text("tables", "performance.toml"))
    balance = data["balance"]
    return Table(
        velocity=data["velocity"],
        balance=Balance(**{**balance, "meter": tuple(balance["meter"])}),
        pedal=Pedalling(**data["pedal"]),
        timing=Timing(**data["timing"]),
        roll=Roll(**data["roll"]),
        ritard=Ritard(**data["ritard"]),
    )
