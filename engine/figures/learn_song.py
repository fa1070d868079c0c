"""Figures of a whole song learned together: shapes lead into one another, rows come again.

One bar's notes often fit several shapes (two notes of three, a bar that begins in the middle).
A search over all harmonies prefers the shapes a hand would go through, and then, knowing the rows
of tokens that come most often, those again where a bar's notes allow it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from engine.figures.heard import Heard, Sounding, slots_for
from engine.figures.learn import Learned, harmonies_of, notes_in, put_together, unsaid
from engine.figures.meaning import Shape
from engine.figures.say import Frame, Said, heard_shapes
from engine.figures.value import MARKS
from engine.hands import Tones, movement, shapes
from engine.harmony import Reading
from engine.song import Hand, Song

Row = tuple[str, ...]

#: What a way of saying a harmony costs; tried on parts arranged from popular songs.
_MISSED, _NEAR, _DOUBLED, _INEXACT, _RARE = 300, 60, 50, 10, 8
#: A shape as a hand holds it is one in close position; any other costs more.
_OPEN = 60
#: A semitone of movement from shape to shape, and of a bass.
_STEP, _BASS_STEP = 8, 1
#: What a row gains that comes again, in full, how many rows are known, and the power of its share.
_AGAIN, _KNOWN, _COMMON = 90, 6, 0.3
_MOST_STATES = 10


@dataclass(frozen=True, slots=True)
class _Spot:
    """One harmony of one bar with what the hand plays in it."""

    number: int
    frame: Frame
    notes: tuple[Heard, ...]


def learn_song(
    song: Song, reading: Reading, heard: Mapping[int, Sequence[Heard]], hand: Hand
) -> dict[int, Learned]:
    """The figures of a hand's bars, by their number; `heard` has the notes of each from its start.

    Bars in which the hand is silent are left out.
    """
    bars = {number: sorted(notes, key=_order) for number, notes in heard.items() if notes}
    harmonies = {number: harmonies_of(song, reading, number) for number in bars}
    spots = list(_spots(song, reading, bars, harmonies, hand))
    options = [_options(spot.frame, spot.notes) for spot in spots]
    rows: Mapping[Row, int] = {}
    chosen: list[Said] = []
    for _ in range(2):
        chosen = _cheapest(spots, options, rows)
        rows = dict(Counter(_row(said) for said in chosen).most_common(_KNOWN))
    found: dict[int, list[Said]] = {}
    for spot, said in zip(spots, chosen, strict=True):
        found.setdefault(spot.number, []).append(said)
    return {
        number: _learned(song, number, bars[number], harmonies[number], found.get(number, []), hand)
        for number in bars
    }


def _order(note: Heard) -> tuple[Fraction, int]:
    return note.onset, note.midi


def _spots(
    song: Song,
    reading: Reading,
    bars: Mapping[int, Sequence[Heard]],
    harmonies: Mapping[int, Sequence[Sounding]],
    hand: Hand,
) -> Iterator[_Spot]:
    """Every harmony with notes or with something held into it, in order."""
    last: list[Heard] = []
    at = 0
    for number, notes in bars.items():
        bar = song.bars[number - 1]
        if number != at + 1:
            last = []
        elif at:
            before = song.bars[at - 1].meter.bar
            last = [Heard(n.onset - before, n.duration, n.midi) for n in last]
        at = number
        width = bar.meter.bar / slots_for(notes, bar.meter, harmonies[number])
        inside = harmonies[number]
        for index, harmony in enumerate(inside):
            own = notes_in(notes, harmony)
            if harmony.tones is not None:
                yield _Spot(
                    number,
                    Frame(
                        hand, harmony, harmony.tones,
                        _following(song, reading, number, inside, index), width,
                        max((n.midi for n in last), default=None),
                        tuple(n.midi for n in last if n.end > harmony.onset), nearly=True,
                    ),
                    tuple(own),
                )  # fmt: skip
            if own:
                last = [note for note in own if note.onset == own[-1].onset]


def _following(
    song: Song, reading: Reading, number: int, inside: Sequence[Sounding], index: int
) -> Tones | None:
    if index + 1 < len(inside):
        return inside[index + 1].tones
    return harmonies_of(song, reading, number + 1)[0].tones if number < len(song.bars) else None


def _learned(
    song: Song,
    number: int,
    notes: Sequence[Heard],
    harmonies: Sequence[Sounding],
    chosen: Sequence[Said],
    hand: Hand,
) -> Learned:
    meter = song.bars[number - 1].meter
    width = meter.bar / slots_for(notes, meter, harmonies)
    said = iter(chosen)
    return put_together(
        [
            unsaid(notes_in(notes, harmony), harmony, width)
            if harmony.tones is None
            else next(said)
            for harmony in harmonies
        ],
        hand, meter, harmonies,
    )  # fmt: skip


@lru_cache(maxsize=1024)
def _options(frame: Frame, notes: tuple[Heard, ...]) -> tuple[tuple[int, Said], ...]:
    """The ways to say a harmony, each with its price, the cheapest first."""
    found: list[tuple[int, Said]] = []
    for shape, price in _ways(frame.tones, frame.hand, notes).items():
        said = frame.read(notes, shape)
        found.append((price + _price(said), said))
    found.sort(key=lambda item: (item[0], item[1].shape))
    return tuple(found[:_MOST_STATES])


def _price(said: Said) -> int:
    return (
        _MISSED * len(said.missed)
        + _NEAR * len(said.near)
        + _DOUBLED * len(said.doubled)
        + _INEXACT * (not said.exact)
        + _RARE * said.rare
    )


def _ways(tones: Tones, hand: Hand, notes: tuple[Heard, ...]) -> dict[Shape, int]:
    """The shapes, or basses, that notes may have been broken from, each with its price."""
    if hand is Hand.LEFT:
        return dict.fromkeys(heard_shapes(notes, hand, tones), 0)
    own = {note.midi for note in notes if note.midi % 12 in tones.pcs}
    found: dict[Shape, int] = dict.fromkeys(heard_shapes(notes, hand, tones), _OPEN)
    if own:
        close = shapes(tones, min(own) - 11, max(own) + 11)
        for shape, cost in zip(close.shapes, close.costs, strict=True):
            if own & {*shape, shape[0] + 12}:
                found[shape] = min(cost, found.get(shape, cost))
    return found


@lru_cache(maxsize=65536)
def _move(before: Shape, after: Shape, hand: Hand) -> int:
    if hand is Hand.LEFT:
        return _BASS_STEP * abs(after[0] - before[0])
    return _STEP * movement(before, after)


def _row(said: Said) -> Row:
    return tuple(slot.text.rstrip(MARKS) for slot in said.slots)


def _again(row: Row, known: Mapping[Row, int]) -> int:
    """What a row gains for being like one that is known, more so like a common one."""
    best = 0.0
    most = max(known.values(), default=1)
    for other, count in known.items():
        if len(other) == len(row) and count > 1:
            same = sum(a == b for a, b in zip(row, other, strict=True))
            best = max(best, same / len(row) * (count / most) ** _COMMON)
    return round(_AGAIN * best)


def _cheapest(
    spots: Sequence[_Spot],
    options: Sequence[Sequence[tuple[int, Said]]],
    known: Mapping[Row, int],
) -> list[Said]:
    """One way for each harmony, the prices and the movements between them least in all."""
    costs: list[float] = []
    origins: list[list[int]] = []
    for index, (spot, ways) in enumerate(zip(spots, options, strict=True)):
        local = [price - _again(_row(said), known) for price, said in ways]
        if index == 0:
            costs = [float(price) for price in local]
            continue
        row: list[float] = []
        came: list[int] = []
        for price, (_, said) in zip(local, ways, strict=True):
            sums = [
                cost + _move(before.shape, said.shape, spot.frame.hand)
                for cost, (_, before) in zip(costs, options[index - 1], strict=True)
            ]
            best = min(sums)
            row.append(best + price)
            came.append(sums.index(best))
        costs = row
        origins.append(came)
    if not costs:
        return []
    at = costs.index(min(costs))
    path = [at]
    for came in reversed(origins):
        at = came[at]
        path.append(at)
    path.reverse()
    return [ways[at][1] for ways, at in zip(options, path, strict=True)]
