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
from engine.arrange.line import Stretch, Stroke, in_order, written
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

    The same arguments give the same part everywhere. `take` (the song's own
    where None) and `seed` choose among the lawful parts; take 1 is the best
    that is found. Raises FigureError where a figure or a pinned shape cannot
    be read.
    """
    check_song(song)
    which = Take(song.take if take is None else take, seed)
    the_plan = plan(song, reading)
    places = spots(song, reading)
    laid = lay(song, places, the_plan, which)
    basses = choose_basses(laid, which)
    shapes = choose_shapes(laid, basses, song.reach, which)
    left = left_rows(laid, basses, song.reach)
    right = right_rows(laid, basses, shapes, song.reach, which)
    levels = tuple(velocity(height) for height in the_plan.heights)
    notes: list[PartNote] = []
    tokens: list[Token] = []
    for hand, rows in ((Hand.LEFT, left), (Hand.RIGHT, right)):
        by_place = {
            (item.spot.bar, item.spot.slot): row for item, row in zip(laid, rows, strict=True)
        }
        more, texts = written([_stretch(song, spot, levels, by_place) for spot in places], hand)
        notes += more
        tokens += texts
    whole = {item.bar.number: item for item in laid if item.kept is not None}
    if whole:
        tokens = [token for token in tokens if token.bar not in whole]
    for item in whole.values():
        assert item.kept is not None
        notes += item.kept.notes(item.bar)
        tokens += item.kept.tokens(item.bar)
    ordered = finger(in_order(notes), song)
    return Part(
        notes=ordered,
        pedal=_pedal(song, places, ordered),
        dynamics=the_plan.dynamics,
        tokens=tuple(tokens),
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


def _stretch(
    song: Song,
    spot: Spot,
    levels: tuple[int, ...],
    rows: dict[tuple[int, int], tuple[Stroke, ...]],
) -> Stretch:
    bar = song.bars[spot.bar]
    row = rows.get((spot.bar, spot.slot), (Stroke(None),))
    return Stretch(bar, bar.start + spot.onset, spot.duration, spot.tones, levels[spot.bar], row)


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
