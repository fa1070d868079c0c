"""Beat and meter of a MIDI file that does not say them, or was not played to its click.

A recording made without a click has notes anywhere between the file's beats. Broken chords move
in even steps, so the steps are followed from attack to attack, each with a little of the tempo's
change; bar and beat are then where the pedal is pressed anew and the bass is struck. The file comes
back with its ticks on those beats, as if it had been played to them.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import cos, hypot, log, pi, sin
from statistics import median

from engine.exchange.read.smf import DRUMS, Message, MidiFile
from engine.meter import Meter

_SUSTAIN, _TEMPO, _METER = 64, 0x51, 0x58
#: From this concentration of attacks on the file's beats or their parts on, they are believed:
#: on halves to quarters of a beat, and on finer parts.
_TO_CLICK, _EXACTLY = 0.45, 0.9
_FEWEST = 16
#: Attacks as near as this (seconds) are one.
_TOGETHER = 0.035
#: How much of a step's error the tempo follows, and the place.
_FOLLOW, _CATCH = 0.2, 0.6
#: An attack that lies farther from its place, in steps, does not change the tempo.
_BELIEVED = 0.35
_LONGEST_STEP, _SHORTEST_STEP = 1.2, 0.09
#: A beat that is likely in itself, in seconds, and how widely (as a logarithm).
_LIKELY_BEAT, _WIDTH = 0.72, 0.45


@dataclass(frozen=True, slots=True)
class _Bar:
    """A way to count: steps in a bar, its meter, steps in its beat."""

    steps: int
    meter: Meter
    beat: int


_BARS = (
    _Bar(8, Meter.of(4, 4), 2),
    _Bar(16, Meter.of(4, 4), 4),
    _Bar(4, Meter.of(4, 4), 1),
    _Bar(6, Meter.of(3, 4), 2),
    _Bar(6, Meter.of(6, 8), 3),
    _Bar(12, Meter.of(3, 4), 4),
    _Bar(12, Meter.of(12, 8), 3),
    _Bar(3, Meter.of(3, 4), 1),
)


@dataclass(frozen=True, slots=True)
class _Attack:
    """What is struck together: its tick, seconds, and weight as the beginning of a bar."""

    tick: int
    seconds: float
    weight: float


@dataclass(frozen=True, slots=True)
class InTime:
    """A file on its beats; `guessed` has `meter` and `tempo` where the notes gave them."""

    midi: MidiFile
    guessed: frozenset[str] = frozenset()
    remark: str = ""


def in_time(midi: MidiFile) -> InTime:
    """The file with its beats and meter, as they are or as the notes give them."""
    attacks = _attacks(midi)
    signed = any(m.status == 0xFF and m.kind == _METER for track in midi.tracks for m in track)
    if len(attacks) < _FEWEST:
        return InTime(midi, frozenset() if signed else frozenset({"meter"}))
    if _to_click(attacks, midi.division):
        if signed:
            return InTime(midi)
        meter = _meter_on_click(attacks, midi.division)
        return InTime(_with_metas(midi, [_signature(meter)]), frozenset({"meter"}))
    steps = _steps(attacks)
    if steps is None:
        kept = frozenset() if signed else frozenset({"meter"})
        return InTime(midi, kept, "the beats: the notes keep no even steps, so the file's stand")
    bar, first = _bar_of(attacks, steps)
    step = Fraction(midi.division * 4) * bar.meter.bar / bar.steps
    lead = -first % bar.steps
    places = [float((at + lead) * step) for at in steps]
    moved = _moved(midi, [attack.tick for attack in attacks], places)
    length = _step_seconds(attacks, steps)
    quarter = _whole_tempo(length * bar.beat) * float(midi.division / step) / bar.beat
    found = _with_metas(moved, [_signature(bar.meter), _tempo(quarter)])
    remark = "the beats, from the notes: it was not played to the file's click"
    return InTime(found, frozenset({"meter", "tempo"}), remark)


def _whole_tempo(seconds: float) -> float:
    """A beat's seconds at the nearest whole number of beats a minute."""
    return 60 / max(1, round(60 / seconds))


def pressed_at(midi: MidiFile, attacks: Sequence[int]) -> list[int]:
    """Ticks of the attacks (sorted) with which the pedal is pressed anew.

    Players lift it at the attack and press it again a little later (ASAP dataset: release 10 ms
    after the bass, pressed again at 121 ms), so the lift tells the place where there is one.
    """
    moves = sorted(
        (message.tick, message.data[1] >= 64)
        for track in midi.tracks
        for message in track
        if message.status == 0xB0 and message.data[0] == _SUSTAIN
    )
    near = midi.division // 8
    out: set[int] = set()
    lifted: int | None = None
    down = False
    for tick, pressed in moves:
        if pressed and not down:
            at = tick if lifted is None or tick - lifted > midi.division else lifted
            caught = bisect_right(attacks, at + near) - 1
            if caught >= 0 and at - attacks[caught] < midi.division:
                at = attacks[caught]
            out.add(at)
        elif down and not pressed:
            lifted = tick
        down = pressed
    return sorted(out)


def _attacks(midi: MidiFile) -> list[_Attack]:
    struck = sorted(
        (message.tick, message.data[0])
        for track in midi.tracks
        for message in track
        if message.status == 0x90 and message.data[1] and message.channel != DRUMS
    )
    seconds = _Clock(midi)
    groups: list[list[tuple[int, int]]] = []
    for tick, key in struck:
        if groups and seconds.at(tick) - seconds.at(groups[-1][0][0]) <= _TOGETHER:
            groups[-1].append((tick, key))
        else:
            groups.append([(tick, key)])
    lowest = [min(key for _, key in group) for group in groups]
    presses = set(pressed_at(midi, [tick for tick, _ in struck]))
    out: list[_Attack] = []
    for at, group in enumerate(groups):
        around = lowest[max(0, at - 6) : at + 7]
        weight = 0.25 * (len(group) - 1)
        weight += 1.0 if lowest[at] <= min(around) + 2 else 0.0
        weight += 2.0 if any(tick in presses for tick, _ in group) else 0.0
        middle = round(sum(tick for tick, _ in group) / len(group))
        out.append(_Attack(middle, seconds.at(middle), weight))
    return out


class _Clock:
    """Seconds at ticks, by the file's tempi."""

    def __init__(self, midi: MidiFile) -> None:
        tempi = sorted(
            (message.tick, int.from_bytes(message.data, "big"))
            for track in midi.tracks
            for message in track
            if message.status == 0xFF and message.kind == _TEMPO and len(message.data) == 3
        )
        self.ticks, self.seconds, self.rates = [0], [0.0], [0.5 / midi.division]
        for tick, tempo in tempi:
            if tempo:
                self.seconds.append(self.at(tick))
                self.ticks.append(tick)
                self.rates.append(tempo / 1e6 / midi.division)

    def at(self, tick: float) -> float:
        index = bisect_right(self.ticks, tick) - 1
        return self.seconds[index] + (tick - self.ticks[index]) * self.rates[index]


def _to_click(attacks: Sequence[_Attack], division: int) -> bool:
    """Whether attacks gather on the file's quarters or on parts of them, narrowly on odd ones."""
    for parts in range(1, 13):
        angles = [2 * pi * parts * attack.tick / division for attack in attacks]
        together = hypot(sum(map(cos, angles)), sum(map(sin, angles))) / len(angles)
        if together >= (_TO_CLICK if parts <= 4 else _EXACTLY):
            return True
    return False


def _meter_on_click(attacks: Sequence[_Attack], division: int) -> Meter:
    """4/4, 3/4 or 6/8 by where bars would begin, the file's quarters and its first tick given."""
    weights: dict[int, float] = {}
    for attack in attacks:
        place = round(attack.tick * 2 / division)
        weights[place] = weights.get(place, 0.0) + attack.weight
    four, three = (_gathered(weights, steps, 0) for steps in (8, 6))
    if four >= three:
        return Meter.of(4, 4)
    inside = [sum(w for at, w in weights.items() if at % 6 == n) for n in range(6)]
    often = max(inside[2], inside[4], 0.25 * len(range(0, max(weights) + 1, 6)))
    return Meter.of(6, 8) if inside[3] > often else Meter.of(3, 4)


def _gathered(weights: Mapping[int, float], steps: int, first: int) -> float:
    """How well bars of so many steps gather the weights: 0 to 1.

    The harmonic mean of the share of all weight that lies on downbeats and the share
    of downbeats that have any to speak of.
    """
    total = sum(weights.values())
    last = max(weights)
    downbeats = range(first, last + 1, steps)
    on = [weights.get(at, 0.0) for at in downbeats]
    if not total or not on:
        return 0.0
    caught = sum(on) / total
    used = sum(1 for weight in on if weight >= 1.0) / len(on)
    return 2 * caught * used / (caught + used) if caught + used else 0.0


def _steps(attacks: Sequence[_Attack]) -> list[int] | None:
    """The place of each attack in even steps, or None where there are none to follow."""
    gaps = sorted(b.seconds - a.seconds for a, b in pairwise(attacks))
    gaps = [gap for gap in gaps if _SHORTEST_STEP <= gap <= _LONGEST_STEP]
    if len(gaps) < _FEWEST // 2:
        return None
    tries = {gaps[len(gaps) * part // 8] for part in range(1, 7)}
    best: tuple[float, list[int]] | None = None
    for start in sorted(tries):
        error, places = _followed(attacks, start)
        if best is None or error < best[0]:
            best = error, places
    assert best is not None
    return best[1] if best[0] < 0.2 else None


def _followed(attacks: Sequence[_Attack], step: float) -> tuple[float, list[int]]:
    """Attacks counted in steps that begin at `step` seconds, and the mean error in steps."""
    places = [0]
    expected = attacks[0].seconds
    total = 0.0
    for attack in attacks[1:]:
        gap = attack.seconds - expected
        count = round(gap / step)
        if count < 1:
            places.append(places[-1])
            total += abs(gap / step)
            continue
        off = gap / step - count
        total += min(0.5, abs(off)) + 0.02 * (count - 1)
        due = expected + count * step
        if abs(off) < _BELIEVED:
            step = min(_LONGEST_STEP, max(_SHORTEST_STEP, step + _FOLLOW * off * step / count))
        expected = due + _CATCH * (attack.seconds - due)
        places.append(places[-1] + count)
    return total / max(1, len(attacks) - 1), places


def _step_seconds(attacks: Sequence[_Attack], steps: Sequence[int]) -> float:
    """The usual length of a step, over several attacks at a time: one by one they are uneven."""
    far = min(_FEWEST // 2, len(attacks) - 1)
    pairs = zip(attacks, attacks[far:], steps, steps[far:], strict=False)
    lengths = [(b.seconds - a.seconds) / (n - m) for a, b, m, n in pairs if n > m]
    return max(_SHORTEST_STEP, median(lengths or [_LONGEST_STEP]))


def _bar_of(attacks: Sequence[_Attack], steps: Sequence[int]) -> tuple[_Bar, int]:
    """How the steps are counted in bars, and which step is the first downbeat."""
    weights: dict[int, float] = {}
    for attack, at in zip(attacks, steps, strict=True):
        weights[at] = weights.get(at, 0.0) + attack.weight
    step = _step_seconds(attacks, steps)
    best: tuple[float, _Bar, int] | None = None
    for bar in _BARS:
        likely = -((log(step * bar.beat / _LIKELY_BEAT) / _WIDTH) ** 2) / 8
        for first in range(bar.steps):
            score = _gathered(weights, bar.steps, first) + likely - 0.02 * (first > 0)
            score += _divided(weights, bar, first)
            if best is None or score > best[0]:
                best = score, bar, first
    assert best is not None
    return best[1], best[2]


def _divided(weights: Mapping[int, float], bar: _Bar, first: int) -> float:
    """A little for bars whose weights lie on their beats, to tell 3/4 from 6/8."""
    inside = sum(w for at, w in weights.items() if (at - first) % bar.steps)
    on = sum(
        w for at, w in weights.items() if (at - first) % bar.steps and not (at - first) % bar.beat
    )
    return 0.15 * on / inside if inside else 0.0


def _moved(midi: MidiFile, ticks: Sequence[int], places: Sequence[float]) -> MidiFile:
    """The file with its ticks drawn to where they are to be, evenly between the given ones."""
    rates = [
        (b - a) / max(1, t - s)
        for (a, b), (s, t) in zip(pairwise(places), pairwise(ticks), strict=True)
    ]
    usual = median(rates) if rates else 1.0

    def place(tick: int) -> int:
        at = bisect_left(ticks, tick)
        if at == 0:
            return max(0, round(places[0] - (ticks[0] - tick) * usual))
        if at == len(ticks):
            return round(places[-1] + (tick - ticks[-1]) * usual)
        return round(places[at - 1] + (tick - ticks[at - 1]) * rates[at - 1])

    tracks = tuple(
        tuple(replace(message, tick=place(message.tick)) for message in track)
        for track in midi.tracks
    )
    return replace(midi, tracks=tracks)


def _with_metas(midi: MidiFile, metas: Sequence[Message]) -> MidiFile:
    """The file with these meta messages at its beginning, in place of all others of their kinds."""
    kinds = {message.kind for message in metas}
    tracks = [
        tuple(m for m in track if m.status != 0xFF or m.kind not in kinds) for track in midi.tracks
    ]
    tracks[0] = (*metas, *tracks[0])
    return replace(midi, tracks=tuple(tracks))


def _signature(meter: Meter) -> Message:
    data = bytes((meter.count, meter.unit.bit_length() - 1, 24, 8))
    return Message(0, 0xFF, 0, data, _METER)


def _tempo(quarter: float) -> Message:
    """`quarter` in seconds."""
    micro = min(2**24 - 1, max(1, round(quarter * 1_000_000)))
    return Message(0, 0xFF, 0, micro.to_bytes(3, "big"), _TEMPO)
