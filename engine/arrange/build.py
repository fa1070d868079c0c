"""From a song and its reading to the part: the stages in their order.

Plan, bass, shapes, figures, joints, inside: each stage decides one thing and
hands it on, so that for every note one can say which stage put it there and
why: `PartNote.why` for what is no plain chord note, the shape and the figure's
token for the rest.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from itertools import chain

from engine.arrange.costs import Take
from engine.arrange.ground import Spot, check_song, spots
from engine.arrange.laid import Laid, lay
from engine.arrange.left import left_rows
from engine.arrange.line import NOTHING, Row, Stretch, played, written
from engine.arrange.plan import plan
from engine.arrange.register import choose_basses, choose_shapes
from engine.arrange.right import right_rows
from engine.hands import Group, finger_groups
from engine.hands.shapes import Pitches
from engine.harmony import Reading
from engine.part import Part, PedalMark, Role, Shape, Token
from engine.song import Hand, Song


def arrange(song: Song, reading: Reading, *, take: int | None = None, seed: int = 0) -> Part:
    """The part of both hands for a song, spelled as it was read.

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
    found = _written(places, laid, left, right)
    groups = [group for group, _ in found]
    kept = {item.spot.bar for item in laid if item.kept is not None}
    rows = [
        played(group, fingers, 0 if spot.bar in kept else levels[spot.bar])
        for group, fingers, spot in zip(
            groups, finger_groups(groups, song.reach), places, strict=True
        )
    ]
    return Part(
        notes=tuple(chain.from_iterable(rows)),
        pedal=_pedal(places, groups),
        dynamics=the_plan.dynamics,
        tokens=tuple(chain.from_iterable(tokens for _, tokens in found)),
        shapes=_written_shapes(laid, shapes),
        heights=the_plan.heights,
        closing=tuple(dict.fromkeys(item.bar.number for item in laid if item.closes)),
    )


def velocity(height: float) -> int:
    """The velocity of a height on the arc, between the marks pp (32) and ff (108)."""
    return round(34 + 68 * height)


def _written_shapes(laid: list[Laid], shapes: list[Pitches]) -> tuple[Shape, ...]:
    return tuple(
        Shape(
            item.bar.number,
            item.spot.start,
            item.spot.duration,
            tuple(item.tones.pitch(midi) for midi in shape),
        )
        for item, shape in zip(laid, shapes, strict=True)
    )


def _written(
    places: tuple[Spot, ...], laid: list[Laid], left: list[Row], right: list[Row]
) -> list[tuple[Group, tuple[Token, ...]]]:
    """The notes and tokens of every harmony, levels left out; kept bars' as they were kept."""
    hands = {
        id(item.spot): (item, low, high) for item, low, high in zip(laid, left, right, strict=True)
    }
    stretches, lefts, rights = [], [], []
    for spot in places:
        _, low, high = hands.get(id(spot), (None, NOTHING, NOTHING))
        stretches.append(Stretch(spot.bar + 1, spot.start, spot.end, spot.bar_end, spot.tones))
        lefts.append(low)
        rights.append(high)
    found = written(stretches, lefts, rights)
    for index, spot in enumerate(places):
        item = hands.get(id(spot))
        if item is not None and item[0].kept is not None:
            found[index] = item[0].kept.part(item[0].bar, spot.onset, spot.duration)
    return found


def _pedal(places: tuple[Spot, ...], groups: list[Group]) -> tuple[PedalMark, ...]:
    """Up and down again at each bar, change and passing bass; up where nothing sounds."""
    marks: list[PedalMark] = []
    down = False
    for spot, group in zip(places, groups, strict=True):
        changes = [(spot.start, spot.tones is not None)] if spot.renewed else []
        changes += [(onset, True) for onset in _walks(group)]
        for onset, sounds in changes:
            if down:
                marks.append(PedalMark(onset, down=False))
            down = sounds
            if down:
                marks.append(PedalMark(onset, down=True))
    if down:
        marks.append(PedalMark(places[-1].end, down=False))
    return tuple(marks)


@lru_cache(maxsize=16384)
def _walks(group: Group) -> tuple[Fraction, ...]:
    """Where the left hand plays passing notes."""
    return tuple(
        note.onset for note in group.notes if note.hand is Hand.LEFT and note.role is Role.PASSING
    )
