"""Chords recognised from notes: templates over stretches of beats, the best division of the whole.

Every stretch between two places of a grid is scored for every root and kind;
a dynamic program over the grid finds the division with the best sum.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Any

import shared
from engine.figures import Heard

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]


_SILENT = 999  # the bass of a cell in which nothing sounds


@dataclass(frozen=True, slots=True)
class Place:
    """A place where a chord may change; `strength` is the meter's (4 downbeat … 0 off).

    `cut` tells that the pedal is pressed anew here, which players do with the harmony:
    no stretch goes on over a downbeat with one.
    """

    at: Fraction
    strength: int
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Recognised:
    """A chord heard from `onset` for `duration`: pitch classes of root and bass, the suffix.

    `root` is None where nothing sounds. `clear` (0–1) tells how far the chord
    is ahead of the next best for the same stretch.
    """

    onset: Fraction
    duration: Fraction
    root: int | None
    suffix: str = ""
    bass: int = 0
    clear: float = 1.0


@dataclass(frozen=True)
class _Templates:
    """All roots and kinds: rows of twelve pitch classes."""

    suffixes: tuple[str, ...]
    roots: Ints
    kinds: Ints
    members: Floats
    missed: Floats
    bass: Floats
    prior: Floats
    size: Floats  # how many members a chord spreads its notes over, as a logarithm


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(shared.text("tables", "recognise.toml"))


@cache
def _templates() -> _Templates:
    import numpy as np

    table = _table()
    kinds, price = table["kind"], table["price"]
    rows = [(kind, root) for kind in range(len(kinds)) for root in range(12)]
    members, missed = np.zeros((len(rows), 12)), np.zeros((len(rows), 12))
    bass = np.full((len(rows), 12), -float(price["foreign"]))
    for n, (kind, root) in enumerate(rows):
        for semitone, weight in zip(kinds[kind]["members"], kinds[kind]["weight"], strict=True):
            pc = (root + semitone) % 12
            members[n, pc], missed[n, pc] = 1.0, weight
            bass[n, pc] = {0: price["root"], 3: price["third"], 4: price["third"]}.get(
                semitone, price["third"] if semitone in (9, 10, 11) else 0.0
            )
    return _Templates(
        tuple(kind["suffix"] for kind in kinds),
        np.array([root for _, root in rows]),
        np.array([kind for kind, _ in rows]),
        members,
        missed,
        bass,
        np.array([kinds[kind]["prior"] for kind, _ in rows]),
        np.log(members.sum(axis=1) / 3),
    )


def recognise(
    sounds: Sequence[Heard], places: Sequence[Place], scale: Collection[int] = ()
) -> tuple[Recognised, ...]:
    """The chords from the first place to the last; neighbours of one chord and bass are one.

    `places` are sorted; the last is the end. `scale` are the pitch classes of
    the key, where it is known.
    """
    out: list[Recognised] = []
    for found in stretches(sounds, places, scale):
        before = out[-1] if out else None
        if before is not None and _same(before, found):
            out[-1] = replace(
                before,
                duration=before.duration + found.duration,
                clear=min(before.clear, found.clear),
            )
        else:
            out.append(found)
    return tuple(out)


def stretches(
    sounds: Sequence[Heard], places: Sequence[Place], scale: Collection[int] = ()
) -> tuple[Recognised, ...]:
    """As `recognise`, every stretch by itself, with the chord it was taken for."""
    if len(places) < 2:
        return ()
    heard = _Heard(sounds, places)
    usual = _unbiased()
    for _ in range(_table()["price"]["passes"]):
        bounds, chosen = _best_division(heard, places, _score(heard, scale, usual))
        usual = _usual(bounds, chosen, heard)
    made = _templates()
    out: list[Recognised] = []
    for (low, high), (template, clear) in zip(bounds, chosen, strict=True):
        onset, length = places[low].at, places[high].at - places[low].at
        if template < 0:
            out.append(Recognised(onset, length, None))
            continue
        suffix = made.suffixes[int(made.kinds[template])]
        bass = _bass(heard, places, low, high) % 12
        out.append(Recognised(onset, length, int(made.roots[template]), suffix, bass, clear))
    return tuple(out)


def _bass(heard: _Heard, places: Sequence[Place], low: int, high: int) -> int:
    """The key of the bass: what a stretch begins with, after silence that of its strongest beat."""
    if heard.bass[low] < _SILENT:
        return int(heard.bass[low])
    sounding = [cell for cell in range(low, high) if heard.bass[cell] < _SILENT]
    return int(heard.bass[max(sounding, key=lambda cell: places[cell].strength)])


def _same(one: Recognised, other: Recognised) -> bool:
    return (one.root, one.suffix) == (other.root, other.suffix) and (
        one.bass == other.bass or one.root is None
    )


def _unbiased() -> Floats:
    import numpy as np

    return np.zeros(len(_templates().prior))


def _usual(
    bounds: Sequence[tuple[int, int]], chosen: Sequence[tuple[int, float]], heard: _Heard
) -> Floats:
    """What a chord is given for being heard elsewhere in the piece: a piece has few chords."""
    import numpy as np

    price = _table()["price"]
    beats = _unbiased()
    for (low, high), (template, _) in zip(bounds, chosen, strict=True):
        if template >= 0:
            beats[template] += heard.beats[high] - heard.beats[low]
    given: Floats = price["usual"] * np.log1p(beats) / np.log1p(max(1.0, beats.max()))
    return given


class _Heard:
    """Weights of pitch classes in every cell of the grid, summed from the start, and basses."""

    def __init__(self, sounds: Sequence[Heard], places: Sequence[Place]) -> None:
        import numpy as np

        count = len(places) - 1
        edges = np.array([float(place.at) * 4 for place in places])
        weights = np.zeros((count, 12))
        lowest = np.full(count, _SILENT)
        belief = _belief(sounds, places)
        for sound, share in zip(sounds, belief, strict=True):
            low, high = float(sound.onset) * 4, float(sound.end) * 4
            at = max(0, int(np.searchsorted(edges, low + 1e-9, side="right")) - 1)
            while at < count and edges[at] < high - 1e-9:
                overlap = min(high, edges[at + 1]) - max(low, edges[at])
                if overlap > 1e-9:
                    weights[at, sound.midi % 12] += share * overlap
                    if sound.midi < lowest[at] and share > 0.5:
                        lowest[at] = sound.midi
                at += 1
        self.count = count
        self.beats = edges
        self.bass = lowest
        # octaves and repeats of one note speak no louder than one held note and a half
        self.weights = np.minimum(weights, 1.5 * np.diff(edges)[:, None])
        self.sums = np.vstack([np.zeros(12), np.cumsum(self.weights, axis=0)])


def _belief(sounds: Sequence[Heard], places: Sequence[Place]) -> list[float]:
    """How much each note says of its chord: less where it only links two notes by step.

    A short note off the beat between steps is a passing or neighbour note; a
    note held over a beat that falls by step is a suspension.
    """
    price = _table()["price"]
    strong = {place.at for place in places if place.strength >= 2}
    ends: dict[Fraction, list[int]] = {}
    starts: dict[Fraction, list[int]] = {}
    for sound in sounds:
        ends.setdefault(sound.end, []).append(sound.midi)
        starts.setdefault(sound.onset, []).append(sound.midi)
    out: list[float] = []
    for sound in sounds:
        into = any(0 < abs(midi - sound.midi) <= 2 for midi in ends.get(sound.onset, ()))
        away = any(0 < abs(midi - sound.midi) <= 2 for midi in starts.get(sound.end, ()))
        held = sound.midi in ends.get(sound.onset, ())
        falls = any(0 < sound.midi - midi <= 2 for midi in starts.get(sound.end, ()))
        if sound.onset not in strong and sound.duration <= Fraction(1, 8) and away:
            out.append(price["passing"] if into else price["left_by_step"])
        elif sound.onset in strong and held and falls and sound.duration <= Fraction(1, 4):
            out.append(price["suspended"])
        else:
            out.append(1.0)
    return out


@dataclass(frozen=True)
class _Scored:
    """The best template of every stretch: rows by its length in cells, columns by its start."""

    score: list[Floats]
    template: list[Ints]
    clear: list[Floats]


def _best_division(
    heard: _Heard, places: Sequence[Place], scored: _Scored
) -> tuple[list[tuple[int, int]], list[tuple[int, float]]]:
    price = _table()["price"]
    entries = _entries(places)
    best = [float("-inf")] * (heard.count + 1)
    best[0] = 0.0
    back: list[tuple[int, int, float]] = [(0, -1, 0.0)] * (heard.count + 1)
    for low in range(heard.count):
        entry = best[low] - entries[low]
        for cells in range(1, min(len(scored.score), heard.count - low) + 1):
            high = low + cells
            if cells > 1 and heard.beats[high] - heard.beats[low] > price["longest"] + 1e-9:
                break
            if cells > 1 and places[high - 1].cut and places[high - 1].strength >= 4:
                break
            total = entry + scored.score[cells - 1][low]
            if total > best[high]:
                best[high] = total
                found = scored.template[cells - 1][low], scored.clear[cells - 1][low]
                back[high] = (low, int(found[0]), float(found[1]))
    bounds: list[tuple[int, int]] = []
    chosen: list[tuple[int, float]] = []
    at = heard.count
    while at > 0:
        low, template, clear = back[at]
        bounds.append((low, at))
        chosen.append((template, clear))
        at = low
    return bounds[::-1], chosen[::-1]


def _entries(places: Sequence[Place]) -> list[float]:
    """What it costs to change chords at each place."""
    price = _table()["price"]
    pedalled = any(place.cut for place in places[1:])
    out: list[float] = []
    for place in places:
        cost = price["change"] + price["weak"][min(4, max(0, place.strength))]
        if pedalled:
            cost = cost * price["cut"] if place.cut else cost + price["uncut"]
        out.append(cost)
    return out


def _score(heard: _Heard, scale: Collection[int], usual: Floats) -> _Scored:
    """Score every stretch of up to `longest` beats; `usual` is what each template is given."""
    import numpy as np

    price = _table()["price"]
    made = _templates()
    unscaled = np.zeros(12)
    if scale:
        unscaled[:] = 1.0
        unscaled[list(scale)] = 0.0
    foreign = price["unscaled"] * (made.members @ unscaled)
    longest = _most_cells(heard, price["longest"])
    scored = _Scored([], [], [])
    for cells in range(1, longest + 1):
        weights = heard.sums[cells:] - heard.sums[:-cells]
        length = heard.beats[cells:] - heard.beats[:-cells]
        total = weights.sum(axis=1)
        short = np.minimum(length, price["full"])[:, None]
        inside = weights @ made.members.T
        spread = inside * price["size"] * made.size
        enough = price["enough"] * np.minimum(length, price["enough_up_to"])[:, None]
        silent = np.clip(1.0 - weights / enough, 0.0, 1.0)
        scores = inside - spread - price["outside"] * (total[:, None] - inside) - made.prior + usual
        scores -= price["missing"] * short * (silent @ made.missed.T)
        bass = heard.bass[: len(length)]
        voiced = (bass < _SILENT)[:, None]
        scores += np.where(voiced, made.bass[:, bass % 12].T, 0.0) * short
        scores -= foreign * short
        rows = np.arange(len(length))
        top = scores.argmax(axis=1)
        first = scores[rows, top]
        scores[rows, top] = -np.inf
        ahead = np.clip((first - scores.max(axis=1)) / np.maximum(0.5, short[:, 0]), 0.0, 1.0)
        quiet = total < 0.05 * length
        scored.score.append(np.where(quiet, 0.3 * length, first))
        scored.template.append(np.where(quiet, -1, top))
        scored.clear.append(np.where(quiet, 1.0, ahead))
    return scored


def _most_cells(heard: _Heard, longest: float) -> int:
    import numpy as np

    ends = np.searchsorted(heard.beats, heard.beats + longest + 1e-9, side="right") - 1
    return max(1, int((ends - np.arange(len(heard.beats))).max()))
