"""Figures learned from notes: given what a hand plays in a bar and its chords, the tokens.

The search is forward: shapes (or basses) that could have been meant are tried,
each strike is written with the tokens that mean its pitches there, and the one
that leaves least unsaid wins. What tokens cannot say is told, never guessed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from engine.figures.catalogue import catalogue
from engine.figures.fit import fit, over_changes
from engine.figures.heard import Heard, Sounding, slots_for
from engine.figures.meaning import Shape, left_offset, right_pitch
from engine.figures.value import HOLD, REST, Figure, FigureSlot
from engine.hands import Tones, tones_of
from engine.harmony import Reading
from engine.meter import Meter
from engine.song import Hand, Song

#: Tokens by how readily they are meant, where several mean one pitch.
_RIGHT = ("1", "2", "3", "4", "s", "9", "6")
_LEFT = ("R", "5", "3", "8", "10", "7", "9", "5-")
#: Tokens of notes outside the chord, which a neighbour of the note before says better.
_OUTSIDE = frozenset("s96")
#: A note of the next chord, held over.
_EARLY = "A"
#: How far-fetched a token is; those not named are plain.
_RARE = {"4": 1, "8": 1, "10": 1, "7": 2, "5-": 2, "s": 2, "A": 2, "9": 3, "6": 3, "n": 3, "p": 3}


@dataclass(frozen=True, slots=True)
class Learned:
    """A figure learned from a bar.

    `shapes` has for each harmony what the figure was read on: the right hand's
    shape as MIDI numbers, the left hand's bass alone. `missed` are the notes
    no token says; `exact` tells that nothing is missed and every note's length
    is the figure's too.
    """

    figure: Figure
    shapes: tuple[Shape, ...]
    missed: tuple[Heard, ...]
    exact: bool


def learn_figure(
    notes: Sequence[Heard],
    hand: Hand,
    meter: Meter,
    harmonies: Sequence[Sounding],
    *,
    after: Tones | None = None,
    shapes: Sequence[Shape] | None = None,
) -> Learned:
    """The figure that a hand's notes are, in a bar of `meter` with those harmonies.

    `harmonies` fill the bar; `after` is the harmony of the next bar, whose
    notes may be anticipated. `shapes`, where they are known, are what the
    figure is read on (the left hand's: its bass alone). Accents are not heard; a
    figure of the catalogue comes with its name and its accents.
    """
    ordered = sorted(notes, key=lambda note: (note.onset, note.midi))
    slots = slots_for(ordered, meter, harmonies)
    rows: list[tuple[FigureSlot, ...]] = []
    found_shapes: list[Shape] = []
    missed: list[Heard] = []
    exact = True
    for index, harmony in enumerate(harmonies):
        following = harmonies[index + 1].tones if index + 1 < len(harmonies) else after
        end = harmony.onset + harmony.duration
        own = [note for note in ordered if harmony.onset <= note.onset < end]
        width = meter.bar / slots
        if harmony.tones is None:
            rows.append((REST,) * int(harmony.duration / width))
            found_shapes.append(())
            missed += own
            continue
        frame = _Frame(hand, harmony, harmony.tones, following, width)
        tried = [shapes[index]] if shapes is not None else _shapes(own, hand, harmony.tones)
        reading = min((frame.read(own, shape) for shape in tried), key=lambda r: r.cost)
        rows.append(reading.slots)
        found_shapes.append(reading.shape)
        missed += reading.missed
        exact = exact and reading.exact
    figure = _joined(rows, hand, meter, harmonies)
    spans = tuple((harmony.onset, harmony.duration) for harmony in harmonies)
    if over_changes(figure, meter, spans) != tuple(rows):
        exact = False
    return Learned(_named(figure, meter), tuple(found_shapes), tuple(missed), exact and not missed)


def learn_bar(
    notes: Sequence[Heard], hand: Hand, song: Song, reading: Reading, number: int
) -> Learned:
    """As `learn_figure`, for notes heard in a bar of a song, with the harmonies of its reading."""
    bar = song.bars[number - 1]
    harmonies = tuple(
        Sounding(slot.onset, slot.duration, _tones(reading, number, index))
        for index, slot in enumerate(bar.slots)
    )
    after = _tones(reading, number + 1, 0) if number < len(song.bars) else None
    return learn_figure(notes, hand, bar.meter, harmonies, after=after)


def _tones(reading: Reading, number: int, slot: int) -> Tones | None:
    read = reading.at(number, slot)
    return None if read is None else tones_of(read)


@dataclass(frozen=True, slots=True)
class _Reading:
    """One harmony's slots on one shape, and what that leaves unsaid."""

    slots: tuple[FigureSlot, ...]
    shape: Shape
    missed: tuple[Heard, ...]
    exact: bool
    rare: int

    @property
    def cost(self) -> tuple[int, bool, int, int]:
        return (len(self.missed), not self.exact, self.rare, len(self.shape))


@dataclass(frozen=True, slots=True)
class _Frame:
    """A harmony of the bar with the slots that fill it."""

    hand: Hand
    harmony: Sounding
    tones: Tones
    following: Tones | None
    width: Fraction

    @property
    def end(self) -> Fraction:
        return self.harmony.onset + self.harmony.duration

    def read(self, notes: Sequence[Heard], shape: Shape) -> _Reading:
        """The notes of this harmony as slots on a shape."""
        strikes: dict[int, list[Heard]] = {}
        missed: list[Heard] = []
        for note in notes:
            at = (note.onset - self.harmony.onset) / self.width
            if at.denominator == 1:
                strikes.setdefault(int(at), []).append(note)
            else:
                missed.append(note)
        meanings = self._meanings(shape)
        row: list[FigureSlot] = [REST] * int(self.harmony.duration / self.width)
        order = sorted(strikes)
        said: list[tuple[int, list[Heard]]] = []
        rare = 0
        for index, place in enumerate(order):
            struck = strikes[place]
            tokens = [meanings[note.midi] for note in struck if note.midi in meanings]
            unsaid = [note for note in struck if note.midi not in meanings]
            if len(struck) == 1:
                before = max(n.midi for n in strikes[order[index - 1]]) if index else None
                later = strikes[order[index + 1]] if index + 1 < len(order) else None
                then = min(n.midi for n in later) if later else None
                token = self._between(struck[0], before, then)
                if token and (unsaid or token == _EARLY or tokens[0] in _OUTSIDE):
                    tokens, unsaid = [token], []
            missed += unsaid
            if tokens:
                rare += sum(_RARE.get(token, 0) for token in tokens)
                row[place] = FigureSlot(tuple(dict.fromkeys(tokens)))
                said.append((place, [note for note in struck if note not in unsaid]))
        exact = self._lengthen(row, said)
        return _Reading(tuple(row), shape, tuple(missed), exact, rare)

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

    def _between(self, note: Heard, before: int | None, then: int | None) -> str:
        """`A`, `n` or `p` for a note that its neighbours explain, else nothing.

        `before` and `then` are the pitches struck before and after it in the harmony.
        """
        right = self.hand is Hand.RIGHT
        if right and self.following is not None and note.end > self.end:
            return _EARLY if note.midi % 12 in self.following.pcs else ""
        if before is None or note.midi % 12 not in self.tones.scale:
            return ""
        falls = then is None or then < note.midi
        if right and falls and note.midi == self.tones.step_from(before, 1):
            return "n"
        return "p" if then is None and 0 < abs(note.midi - before) <= 2 else ""

    def _lengthen(self, row: list[FigureSlot], said: Sequence[tuple[int, list[Heard]]]) -> bool:
        """Write holds and ringing notes into a row; whether every note's length is said.

        A note that rings ends with the harmony, or where its key is struck again.
        """
        exact = True
        start = self.harmony.onset
        stops: dict[int, Fraction] = {}
        rings: list[bool] = []
        for _, notes in reversed(said):
            rings.append(all(n.end >= stops.get(n.midi, self.end) for n in notes))
            stops.update((note.midi, note.onset) for note in notes)
        rings.reverse()
        for index, (place, notes) in enumerate(said):
            until = said[index + 1][0] if index + 1 < len(said) else len(row)
            if any(note.end > self.end for note in notes) and row[place].tokens != (_EARLY,):
                exact = False
            following = start + until * self.width
            if rings[index] and following < min(self.end, max(note.end for note in notes)):
                row[place] = replace(row[place], rings=True)
                holds = until
            else:
                ends = [min(note.end, self.end) for note in notes]
                holds = min(until, -(-(max(ends) - start) // self.width))
                exact = exact and all(end == start + holds * self.width for end in ends)
            for held in range(place + 1, holds):
                row[held] = HOLD
        return exact


def _shapes(notes: Sequence[Heard], hand: Hand, tones: Tones) -> list[Shape]:
    """Shapes the notes may have been broken from; for the left hand, basses."""
    if hand is Hand.LEFT:
        low = min((note.midi for note in notes), default=48)
        first = low - 16 + (tones.bass - low + 16) % 12
        return [(midi,) for midi in range(first, first + 37, 12)]
    members = sorted({note.midi for note in notes if note.midi % 12 in tones.pcs})
    found: list[Shape] = []
    for size in (3, 4, 2, 1):
        widest = 12 if size == 2 else 11
        found += [c for c in combinations(members, size) if c[-1] - c[0] <= widest]
    return found or [(60 + (tones.root - 60) % 12,)]


def _joined(
    rows: Sequence[tuple[FigureSlot, ...]],
    hand: Hand,
    meter: Meter,
    harmonies: Sequence[Sounding],
) -> Figure:
    """One figure for the bar: the rows in a row, or the longest where the others restart it."""
    whole = Figure(hand, tuple(slot for row in rows for slot in row), meter)
    spans = tuple((harmony.onset, harmony.duration) for harmony in harmonies)
    if over_changes(whole, meter, spans) == tuple(rows):
        return whole
    longest = max(rows, key=len)
    repeated = tuple(longest[n % len(longest)] for n in range(len(whole.slots)))
    again = Figure(hand, repeated, meter)
    return again if over_changes(again, meter, spans) == tuple(rows) else whole


def _named(figure: Figure, meter: Meter) -> Figure:
    """The catalogue's figure with the same notes, where there is one."""
    for known in catalogue():
        if known.hand is figure.hand and known.meter == meter:
            plain = tuple(replace(slot, accent=False) for slot in fit(known, meter).slots)
            if plain == figure.slots:
                return fit(known, meter)
    return figure
