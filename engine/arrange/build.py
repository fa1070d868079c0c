"""From a song and its reading to the part: the stages in their order.

Plan, bass, shapes, figures, joints, inside: each stage decides one thing and
hands it on, so that for every note one can say which stage put it there and
why: `PartNote.why` for what is no plain chord note, the shape and the figure's
token for the rest.
"""

from __future__ import annotations

from engine.arrange.costs import Take
from engine.arrange.ground import Spot, check_song, spots
from engine.arrange.laid import Laid, lay
from engine.arrange.left import left_rows
from engine.arrange.line import NOTHING, Row, Stretch, in_order, written
from engine.arrange.plan import plan
from engine.arrange.register import choose_basses, choose_shapes
from engine.arrange.right import right_rows
from engine.hands import finger
from engine.hands.shapes import Pitches
from engine.harmony import Reading
from engine.part import Part, PartNote, PedalMark, Role, Shape, Token
from engine.song import Hand, Song


def arrange(song: Song, reading: Reading, *, take: int | None = None, seed: int = 0) -> Part:
    """The part of both hands for a song, as its reading spells it.

    The same arguments give the same part everywhere. `take` (where None each
    section's own, else the song's) and `seed` choose among the lawful parts;
    take 1 is the best that is found. Raises FigureError where a figure or a pinned shape cannot
    be read.
    """
    check_song(song)
    numbers = (take or section.take or song.take for section in song.sections)
    which = Take(tuple(numbers), seed)
    the_plan = plan(song, reading)
    places = spots(song, reading)
    laid, basses = choose_basses(lay(song, places, the_plan, which), which)
    shapes = choose_shapes(laid, basses, song.reach, which)
    left = left_rows(laid, basses, song.reach)
    right = right_rows(laid, basses, shapes, song.reach, which)
    levels = tuple(velocity(height) for height in the_plan.heights)
    notes, tokens = _written(song, places, laid, left, right, levels)
    ordered = finger(notes, song)
    return Part(
        notes=ordered,
        pedal=_pedal(song, places, ordered),
        dynamics=the_plan.dynamics,
        tokens=tokens,
        shapes=_written_shapes(laid, shapes),
        heights=the_plan.heights,
    )


def velocity(height: float) -> int:
    """The velocity of a height on the arc, between the marks pp (32) and ff (108)."""
    return round(34 + 68 * height)


def _written_shapes(laid: list[Laid], shapes: list[Pitches]) -> tuple[Shape, ...]:
    return tuple(
        Shape(
            item.bar.number,
            item.bar.start + item.spot.onset,
            item.spot.duration,
            tuple(item.tones.pitch(midi) for midi in shape),
        )
        for item, shape in zip(laid, shapes, strict=True)
    )


def _written(
    song: Song,
    places: tuple[Spot, ...],
    laid: list[Laid],
    left: list[Row],
    right: list[Row],
    levels: tuple[int, ...],
) -> tuple[tuple[PartNote, ...], tuple[Token, ...]]:
    """Every note and token; kept bars' as they were kept."""
    hands: dict[Spot, tuple[Row, Row]] = {
        item.spot: (low, high) for item, low, high in zip(laid, left, right, strict=True)
    }
    stretches = []
    for spot in places:
        bar = song.bars[spot.bar]
        start, end = bar.start + spot.onset, bar.end
        stretches.append(
            Stretch(bar.number, start, spot.duration, end, spot.tones, levels[spot.bar])
        )
    rows = [hands.get(spot, (NOTHING, NOTHING)) for spot in places]
    notes, tokens = written(stretches, [row[0] for row in rows], [row[1] for row in rows])
    kept = {item.bar.number: item for item in laid if item.kept is not None}
    if not kept:
        return notes, tokens
    more = [note for item in kept.values() if item.kept for note in item.kept.notes(item.bar)]
    texts = [token for item in kept.values() if item.kept for token in item.kept.tokens(item.bar)]
    return in_order([*notes, *more]), (
        *(token for token in tokens if token.bar not in kept),
        *texts,
    )


def _pedal(
    song: Song, places: tuple[Spot, ...], notes: tuple[PartNote, ...]
) -> tuple[PedalMark, ...]:
    """Up and down again at each bar, change and passing bass; up where nothing sounds."""
    changes = {
        song.bars[spot.bar].start + spot.onset: spot.tones is not None
        for spot in places
        if spot.renewed
    }
    for note in notes:
        if note.hand is Hand.LEFT and note.role is Role.PASSING:
            changes.setdefault(note.onset, True)
    marks: list[PedalMark] = []
    down = False
    for onset, sounds in sorted(changes.items()):
        if down:
            marks.append(PedalMark(onset, down=False))
        down = sounds
        if down:
            marks.append(PedalMark(onset, down=True))
    if down:
        marks.append(PedalMark(song.end, down=False))
    return tuple(marks)
