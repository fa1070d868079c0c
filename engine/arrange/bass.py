"""The left hand: where its bass lies, and the notes of its figure above it.

Named basses are hard, their octave is free: it is chosen over the whole song
so that the line moves little, every interval of the figure keeps above the
low-interval limits with the pedal counted, and room is left for the right hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from engine.figures import ALONE, HOLD, FigureSlot
from engine.hands import Tones, cheapest, least_bass

LOWEST, HIGHEST = 28, 60
#: The widest step down that is easy for a left hand, in semitones.
_TWELFTH = 19
#: A left hand that is alone may lie around middle C.
HIGHEST_ALONE = 66

Tokens = tuple[str, ...]


@lru_cache(maxsize=4096)
def offset(tones: Tones, token: str) -> int:
    """Semitones above the bass that a left-hand token means in a harmony."""
    first = tones.above[0]
    second = tones.above[1] if len(tones.above) > 1 else tones.above[0]
    match token:
        case "3":
            return first
        case "5":
            return second
        case "7":
            return tones.above[2] if len(tones.above) > 2 else 12
        case "8":
            return 12
        case "9":
            return 12 + tones.second
        case "10":
            return 12 + first
        case "5-":
            return second - 12
        case _:
            return 0


@lru_cache(maxsize=4096)
def tokens_of(slots: tuple[FigureSlot, ...]) -> Tokens:
    """The different tokens of some slots that name notes by themselves, in order of appearance."""
    found: dict[str, None] = {}
    for slot in slots:
        for token in slot.tokens:
            if token not in ALONE:
                found[token] = None
    return tuple(found)


@lru_cache(maxsize=8192)
def span(tones: Tones, slots: tuple[FigureSlot, ...]) -> int:
    """How far above its bass a left hand's figure goes, in semitones."""
    return max((offset(tones, token) for token in tokens_of(slots)), default=0)


@lru_cache(maxsize=8192)
def sounds(tones: Tones, slots: tuple[FigureSlot, ...], pc: int) -> bool:
    """Whether a left hand's figure strikes a pitch class."""
    return any((tones.bass + offset(tones, token)) % 12 == pc for token in tokens_of(slots))


@lru_cache(maxsize=4096)
def clear_from(tones: Tones, slots: tuple[FigureSlot, ...]) -> int:
    """The lowest bass (MIDI) under which a figure an octave above it stays clear."""
    return least_bass((0, 12, *(12 + offset(tones, token) for token in tokens_of(slots))))


@dataclass(frozen=True, slots=True, eq=False)
class BassSet:
    """The places a bass may take under one harmony and figure; `costs` in themselves."""

    midis: tuple[int, ...]
    costs: tuple[int, ...]
    top: int  # the figure's highest note above the bass
    opened: tuple[bool, ...] = ()

    def __len__(self) -> int:
        return len(self.midis)


@lru_cache(maxsize=4096)
def bass_set(tones: Tones, tokens: Tokens, centre: int, ceiling: int) -> BassSet:
    """The octaves of the bass in which the figure is clear; costs draw it to `centre`.

    The figure's highest note is drawn below `ceiling`, where the right hand begins.
    Where the low-interval limits push the bass up out of its line, the figure may
    be opened (`opened_slots`) over a low bass instead, at a price.
    """
    offsets = tuple(sorted({0, *(offset(tones, token) for token in tokens)}))
    least = max(LOWEST - min(offsets), least_bass(offsets))
    low = least + (tones.bass - least) % 12
    found = [midi for midi in (low, low + 12, low + 24) if midi <= HIGHEST_ALONE] or [low]
    costs = []
    for midi in found:
        over = max(0, midi + offsets[-1] - ceiling + 1)
        costs.append(
            2 * abs(midi - centre) + 14 * over + 40 * max(0, midi - max(HIGHEST, centre + 6))
        )
    opened = [False] * len(found)
    if (
        "5" in tokens
        and set(tokens) <= _OPENING.keys()
        and low - 12 >= max(LOWEST, least_bass(_opened_offsets(tones, tokens)))
    ):
        found.append(low - 12)
        costs.append(2 * abs(low - 12 - centre) + _OPENED)
        opened.append(True)
    return BassSet(tuple(found), tuple(costs), offsets[-1], tuple(opened))


@lru_cache(maxsize=512)
def tenth_slots(tones: Tones, slots: tuple[FigureSlot, ...], reach: int) -> tuple[FigureSlot, ...]:
    """The figure with the tenth struck over a bass that is held, where the hand reaches it."""
    held = len(slots) == 1 or slots[1].hold
    third = tones.above[0]
    if slots[0].tokens != ("R",) or not held or third not in (3, 4) or 12 + third > reach:
        return slots
    return (replace(slots[0], tokens=("R", "10")), *slots[1:])


@lru_cache(maxsize=1024)
def bass_slots(tones: Tones, slots: tuple[FigureSlot, ...]) -> tuple[FigureSlot, ...]:
    """The figure with the bass for its lowest first note, where the chord names a bass it lacks.

    Who writes `C/E` means the E to sound; a figure that is silent stays so.
    """
    if tones.chord.bass is None or any("R" in slot.tokens for slot in slots):
        return slots
    for index, slot in enumerate(slots):
        if slot.tokens and slot.tokens[0] not in ALONE:
            rest = sorted(slot.tokens, key=lambda token: offset(tones, token))[1:]
            bassed = replace(slot, tokens=("R", *rest))
            return (*slots[:index], bassed, *slots[index + 1 :])
    return slots


#: An opened figure: octave and tenth where fifth and octave would be muddy.
_OPENING = {"R": "R", "5": "8", "8": "10", "10": "10"}
_OPENED = 100


@lru_cache(maxsize=1024)
def opened_slots(tones: Tones, slots: tuple[FigureSlot, ...]) -> tuple[FigureSlot, ...]:
    """The figure with octave and tenth for fifth and octave; the octave alone where no third is.

    Where two notes become the same, the first is held on.
    """
    found: list[FigureSlot] = []
    before: Tokens = ()
    for slot in slots:
        tokens = tuple(dict.fromkeys(_opened(tones, name) for name in slot.tokens))
        if tokens and tokens == before:
            found.append(HOLD)
            continue
        found.append(replace(slot, tokens=tokens))
        before = tokens or (before if slot.hold else ())
    return tuple(found)


def _opened(tones: Tones, name: str) -> str:
    wide = tones.above[0] in (3, 4, 5)
    return _OPENING[name] if wide or name == "R" else "8"


def _opened_offsets(tones: Tones, tokens: Tokens) -> tuple[int, ...]:
    return tuple(sorted({0, *(offset(tones, _opened(tones, name)) for name in tokens)}))


@lru_cache(maxsize=8192)
def _moves(earlier: BassSet, later: BassSet) -> tuple[tuple[int, ...], ...]:
    return tuple(
        tuple(
            _move(abs(after - before)) + _drop(before + earlier.top - after)
            for before in earlier.midis
        )
        for after in later.midis
    )


def _move(size: int) -> int:
    return 3 * size if size <= 7 else 21 + 5 * (size - 7)


def _drop(size: int) -> int:
    """What it costs that the hand comes down from its figure's highest note to the next bass."""
    return 4 * max(0, size - _TWELFTH)


def choose_basses(
    stages: Sequence[BassSet], noise: Sequence[tuple[int, ...]] | None = None
) -> list[tuple[int, bool]]:
    """The bass of each stage as a MIDI number, and whether its figure is opened."""
    local = [stage.costs for stage in stages]
    if noise is not None:
        local = [
            tuple(cost + extra[at] for at, cost in enumerate(costs))
            for costs, extra in zip(local, noise, strict=True)
        ]
    path = cheapest(stages, local, _moves)
    return [
        (stage.midis[at], bool(stage.opened) and stage.opened[at])
        for stage, at in zip(stages, path, strict=True)
    ]


@lru_cache(maxsize=256)
def pinned(bass: int, top: int) -> BassSet:
    """The one place of a pinned bass."""
    return BassSet((bass,), (0,), top)
