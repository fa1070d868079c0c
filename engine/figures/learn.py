"""Figures learned from notes: given what a hand plays in a bar and its chords, the tokens.

The search is forward: shapes (or basses) that could have been meant are tried,
each strike is written with the tokens that mean its pitches there, and the one
that leaves least unsaid wins. What tokens cannot say is told, never guessed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate

from engine.figures.catalogue import catalogue
from engine.figures.fit import fit, over_changes
from engine.figures.heard import Heard, Sounding, slots_for
from engine.figures.meaning import Shape
from engine.figures.say import Frame, Said, heard_shapes
from engine.figures.value import REST, Figure, FigureSlot
from engine.hands import Tones, tones_of
from engine.harmony import Reading
from engine.meter import Meter
from engine.song import Hand, Song


@dataclass(frozen=True, slots=True)
class Learned:
    """A figure learned from a bar.

    `shapes` has for each harmony what the figure was read on: the right hand's
    shape as MIDI numbers, the left hand's bass alone. `missed` are the notes
    no token says, `near` those whose token means another pitch, `doubled` those
    left to the amount of doubling; `exact` tells that there are none of them and
    every note's length is the figure's too.
    """

    figure: Figure
    shapes: tuple[Shape, ...]
    missed: tuple[Heard, ...]
    exact: bool
    near: tuple[Heard, ...] = ()
    doubled: tuple[Heard, ...] = ()


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
    width = meter.bar / slots_for(ordered, meter, harmonies)
    said: list[Said] = []
    for index, harmony in enumerate(harmonies):
        own = notes_in(ordered, harmony)
        if harmony.tones is None:
            said.append(unsaid(own, harmony, width))
            continue
        following = harmonies[index + 1].tones if index + 1 < len(harmonies) else after
        frame = Frame(hand, harmony, harmony.tones, following, width)
        tried = heard_shapes(own, hand, harmony.tones) if shapes is None else [shapes[index]]
        said.append(min((frame.read(own, shape) for shape in tried), key=lambda one: one.cost))
    return put_together(said, hand, meter, harmonies)


def learn_bar(
    notes: Sequence[Heard], hand: Hand, song: Song, reading: Reading, number: int
) -> Learned:
    """As `learn_figure`, for notes heard in a bar of a song, with the harmonies of its reading."""
    harmonies = harmonies_of(song, reading, number)
    after = harmonies_of(song, reading, number + 1)[0].tones if number < len(song.bars) else None
    return learn_figure(notes, hand, song.bars[number - 1].meter, harmonies, after=after)


def harmonies_of(song: Song, reading: Reading, number: int) -> tuple[Sounding, ...]:
    """The harmonies of a bar, counted from 1, with their tones as they are read there."""
    found = []
    for index, slot in enumerate(song.bars[number - 1].slots):
        read = reading.at(number, index)
        tones = None if read is None else tones_of(read)
        found.append(Sounding(slot.onset, slot.duration, tones))
    return tuple(found)


def notes_in(notes: Sequence[Heard], harmony: Sounding) -> list[Heard]:
    """The notes struck while a harmony lasts."""
    end = harmony.onset + harmony.duration
    return [note for note in notes if harmony.onset <= note.onset < end]


def unsaid(notes: Sequence[Heard], harmony: Sounding, width: Fraction) -> Said:
    """Notes where no chord stands: nothing of them is said."""
    rests = (REST,) * int(harmony.duration / width)
    return Said(rests, (), tuple(notes), (), (), not notes, 0)


def put_together(
    said: Sequence[Said], hand: Hand, meter: Meter, harmonies: Sequence[Sounding]
) -> Learned:
    """What was learned of a bar from what was said of its harmonies."""
    rows = [one.slots for one in said]
    figure = _joined(rows, hand, meter, harmonies)
    spans = tuple((harmony.onset, harmony.duration) for harmony in harmonies)
    given = over_changes(figure, meter, spans)
    whole = all(
        row == other or harmony.tones is None
        for row, other, harmony in zip(rows, given, harmonies, strict=True)
    )
    missed = tuple(note for one in said for note in one.missed)
    return Learned(
        _named(figure, meter),
        tuple(one.shape for one in said),
        missed,
        whole and not missed and all(one.exact for one in said),
        tuple(note for one in said for note in one.near),
        tuple(note for one in said for note in one.doubled),
    )


def _joined(
    rows: Sequence[tuple[FigureSlot, ...]],
    hand: Hand,
    meter: Meter,
    harmonies: Sequence[Sounding],
) -> Figure:
    """One figure for the bar: the longest row where the others restart it, or all in a row.

    Where neither a restart nor the row by itself gives them, strokes part them.
    """
    whole = Figure(hand, tuple(slot for row in rows for slot in row), meter)
    longest = max(rows, key=len)
    repeated = tuple(longest[n % len(longest)] for n in range(len(whole.slots)))
    starts = tuple(accumulate(len(row) for row in rows[:-1]))
    spans = tuple((harmony.onset, harmony.duration) for harmony in harmonies)
    sounding = [at for at, harmony in enumerate(harmonies) if harmony.tones is not None]
    for way in (whole, replace(whole, slots=repeated), replace(whole, strokes=starts)):
        given = over_changes(way, meter, spans)
        if all(given[at] == rows[at] for at in sounding):
            return way
    return whole


def _named(figure: Figure, meter: Meter) -> Figure:
    """The catalogue's figure with the same notes, where there is one."""
    if figure.strokes:
        return figure
    for known in catalogue():
        if known.hand is figure.hand and known.meter == meter:
            plain = tuple(replace(slot, accent=False) for slot in fit(known, meter).slots)
            if plain == figure.slots:
                return fit(known, meter)
    return figure
