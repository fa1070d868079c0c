"""One harmony's notes said in tokens, on a shape of the right hand or a bass of the left.

Each strike is written with the tokens that mean its pitches there. A note outside the chord is
told by its neighbours: stepped to and back, on by step, or held into the next harmony.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from engine.figures.heard import Heard, Sounding
from engine.figures.meaning import Shape, left_offset, right_pitch
from engine.figures.value import HOLD, REST, FigureSlot
from engine.hands import Tones
from engine.song import Hand

#: Tokens by how readily they are meant, where several mean one pitch.
_RIGHT = ("1", "2", "3", "4", "s", "9", "6")
_LEFT = ("R", "5", "3", "8", "10", "7", "9", "5-")
#: Tokens of notes outside the chord, which a neighbour of the note before says better.
_OUTSIDE = frozenset("s96")
#: A note of the next chord, held over.
_EARLY = "A"
#: How far-fetched a token is; those not named are plain.
_RARE = {"4": 1, "8": 1, "10": 1, "7": 2, "5-": 2, "s": 2, "A": 2, "9": 3, "6": 3, "n": 3, "p": 3}
#: Different pitches that shapes are made of, at most.
_MOST_PITCHES = 9


@dataclass(frozen=True, slots=True)
class Said:
    """One harmony's slots on one shape, and what they leave unsaid.

    `near` are notes whose token means another pitch (a lower neighbour, written
    `n`); `doubled` are octaves of notes struck with them, which figures leave to
    the amount of doubling; `rare` adds up how far-fetched the tokens are.
    """

    slots: tuple[FigureSlot, ...]
    shape: Shape
    missed: tuple[Heard, ...]
    near: tuple[Heard, ...]
    doubled: tuple[Heard, ...]
    exact: bool
    rare: int

    @property
    def cost(self) -> tuple[int, bool, int, int]:
        """The less, the better it says one bar by itself."""
        return (len(self.missed), not self.exact, self.rare, len(self.shape))


@dataclass(slots=True)
class _Row:
    """The slots while they are written, the notes said by place, and what is unsaid."""

    slots: list[FigureSlot]
    said: list[tuple[int, list[Heard]]]
    missed: list[Heard]
    near: list[Heard]
    doubled: list[Heard]
    rare: int = 0


@dataclass(frozen=True, slots=True)
class Frame:
    """A harmony of a bar with the slots of `width` that fill it.

    `led` is the pitch that the hand struck last before it; `tied` are pitches
    held into it from an anticipation. `nearly` lets tokens stand for notes of
    the same kind whose pitch they do not mean, and leaves octaves to doubling.
    """

    hand: Hand
    harmony: Sounding
    tones: Tones
    following: Tones | None
    width: Fraction
    led: int | None = None
    tied: tuple[int, ...] = ()
    nearly: bool = False

    @property
    def end(self) -> Fraction:
        return self.harmony.onset + self.harmony.duration

    def read(self, notes: Sequence[Heard], shape: Shape) -> Said:
        """The notes of this harmony as slots on a shape."""
        strikes: dict[int, list[Heard]] = {}
        row = _Row([REST] * int(self.harmony.duration / self.width), [], [], [], [])
        for note in notes:
            at = (note.onset - self.harmony.onset) / self.width
            if at.denominator == 1 and at < len(row.slots):
                strikes.setdefault(int(at), []).append(note)
            else:
                row.missed.append(note)
        meanings = self._meanings(shape)
        order = sorted(strikes)
        for index, place in enumerate(order):
            struck = strikes[place]
            before = self.led if self.nearly else None
            if index:
                before = max(n.midi for n in strikes[order[index - 1]])
            later = strikes[order[index + 1]] if index + 1 < len(order) else None
            then = min(n.midi for n in later) if later else None
            tokens, unsaid = self._strike(struck, meanings, (before, then), row, first=index == 0)
            row.missed += unsaid
            if tokens:
                row.rare += sum(_RARE.get(token, 0) for token in tokens)
                row.slots[place] = FigureSlot(tuple(dict.fromkeys(tokens)))
                row.said.append((place, [note for note in struck if note not in unsaid]))
        exact = self._lengthen(row.slots, row.said) and not row.near and not row.doubled
        if self.tied and row.slots[0] is REST:
            self._under_tie(row, meanings)
        return Said(
            tuple(row.slots), shape, tuple(row.missed), tuple(row.near), tuple(row.doubled),
            exact, row.rare,
        )  # fmt: skip

    def _strike(
        self,
        struck: list[Heard],
        meanings: dict[int, str],
        around: tuple[int | None, int | None],
        row: _Row,
        *,
        first: bool,
    ) -> tuple[list[str], list[Heard]]:
        """The tokens of one strike, and its notes that none of them says."""
        tokens = [meanings[note.midi] for note in struck if note.midi in meanings]
        unsaid = [note for note in struck if note.midi not in meanings]
        if self._comes_early(struck):
            return [_EARLY], []
        if len(struck) == 1:
            before = None if first and not self.nearly else around[0]
            token = self._between(struck[0], before, around[1], first=first)
            if token and (unsaid or tokens[0] in _OUTSIDE):
                return [token], []
            if unsaid and self.nearly:
                token = self._near(struck[0], around[0], around[1], first=first)
                if token:
                    row.near.append(struck[0])
                    return [token], []
        if unsaid and tokens and self.nearly:
            said = {note.midi for note in struck if note.midi in meanings}
            octaves = [n for n in unsaid if n.midi - 12 in said or n.midi + 12 in said]
            row.doubled += octaves
            unsaid = [note for note in unsaid if note not in octaves]
        return tokens, unsaid

    def _meanings(self, shape: Shape) -> dict[int, str]:
        """The token of each pitch the hand's tokens can name on a shape."""
        found: dict[int, str] = {}
        if self.hand is Hand.LEFT:
            for token in _LEFT:
                found.setdefault(shape[0] + left_offset(self.tones, token), token)
            return found
        for token in _RIGHT:
            pitch = right_pitch(self.tones, shape, token)
            if pitch is not None:
                found.setdefault(pitch, token)
        return found

    def _comes_early(self, struck: list[Heard]) -> bool:
        """Whether notes are held into the next harmony, and belong to it."""
        if self.hand is not Hand.RIGHT or self.following is None:
            return False
        if len(struck) > 1 and not self.nearly:
            return False
        pcs = self.following.pcs
        return all(note.end > self.end and note.midi % 12 in pcs for note in struck)

    def _between(self, note: Heard, before: int | None, then: int | None, *, first: bool) -> str:
        """`n` or `p` for a note that its neighbours explain, else nothing.

        `before` and `then` are the pitches struck before and after it in the harmony.
        """
        right = self.hand is Hand.RIGHT
        if right and self.following is not None and note.end > self.end:
            return ""
        if first or before is None or note.midi % 12 not in self.tones.scale:
            return ""
        falls = then is None or then < note.midi
        if right and falls and note.midi == self.tones.step_from(before, 1):
            return "n"
        if self.nearly and then is not None and _steps(before, note.midi, then):
            return "p"
        return "p" if then is None and 0 < abs(note.midi - before) <= 2 else ""

    def _near(self, note: Heard, before: int | None, then: int | None, *, first: bool) -> str:
        """The token of a note's kind, where none means its pitch: `s n p`, an added `9` or `6`."""
        if self.hand is not Hand.RIGHT:
            return ""
        midi = note.midi
        if first and before == midi and then is not None and 0 < midi - then <= 2:
            return "s"
        if before is not None and 0 < abs(midi - before) <= 2:
            if then == before:
                return "n"
            if then is None or 0 < abs(then - midi) <= 2:
                return "p"
        return {2: "9", 9: "6"}.get((midi - self.tones.root) % 12, "")

    def _under_tie(self, row: _Row, meanings: dict[int, str]) -> None:
        """Write what is held in as the figure's own first note, which the tie keeps silent."""
        tokens = [meanings[midi] for midi in self.tied if midi in meanings]
        if len(tokens) != len(self.tied):
            return
        row.slots[0] = FigureSlot(tuple(tokens))
        for at in range(1, len(row.slots)):
            if row.slots[at] is not REST:
                break
            row.slots[at] = HOLD

    def _lengthen(self, row: list[FigureSlot], said: Sequence[tuple[int, list[Heard]]]) -> bool:
        """Write holds and ringing notes into a row; whether every note's length is said.

        A note that rings ends with the harmony, or where its key is struck again.
        """
        exact = True
        start, end = self.harmony.onset, self.end
        stops: dict[int, Fraction] = {}
        rings: list[bool] = []
        for _, notes in reversed(said):
            rings.append(all(n.end >= stops.get(n.midi, end) for n in notes))
            stops.update((note.midi, note.onset) for note in notes)
        rings.reverse()
        for index, (place, notes) in enumerate(said):
            until = said[index + 1][0] if index + 1 < len(said) else len(row)
            last = max(note.end for note in notes)
            if last > end and row[place].tokens != (_EARLY,):
                exact = False
            if rings[index] and start + until * self.width < min(end, last):
                row[place] = replace(row[place], rings=True)
                holds = until
            else:
                holds = min(until, -(-(min(end, last) - start) // self.width))
                stop = start + holds * self.width
                exact = exact and all(min(note.end, end) == stop for note in notes)
            for held in range(place + 1, holds):
                row[held] = HOLD
        return exact


def _steps(before: int, midi: int, then: int) -> bool:
    """Whether three pitches go on by step one way."""
    up, on = midi - before, then - midi
    return 0 < abs(up) <= 2 and 0 < abs(on) <= 2 and up * on > 0


def heard_shapes(notes: Sequence[Heard], hand: Hand, tones: Tones) -> list[Shape]:
    """Shapes the notes themselves may have been broken from; for the left hand, basses."""
    if hand is Hand.LEFT:
        low = min((note.midi for note in notes), default=48)
        first = low - 16 + (tones.bass - low + 16) % 12
        return [(midi,) for midi in range(first, first + 37, 12)]
    members = sorted({note.midi for note in notes if note.midi % 12 in tones.pcs})
    found: list[Shape] = []
    for size in (3, 4, 2, 1):
        widest = 12 if size == 2 else 11
        few = members[:_MOST_PITCHES]
        found += [c for c in combinations(few, size) if c[-1] - c[0] <= widest]
    return found or [(60 + (tones.root - 60) % 12,)]
