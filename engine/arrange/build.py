"""From a song and its reading to the part: the stages in their order.

Plan, bass, shapes, figures, joints, inside: each stage decides one thing and
hands it on, so that for every note one can say which stage put it there and
why: `PartNote.why` for what is no plain chord note, the shape and the figure's
token for the rest.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from engine.arrange import bass, skeleton
from engine.arrange.costs import Take, costs
from engine.arrange.figuring import Asked, choose_figures, default_figure, last_slots
from engine.arrange.ground import Pin, Spot, check_song, figure_of, pins_of, spots
from engine.arrange.inside import Taste, strokes
from engine.arrange.joints import PLAIN, Joint, Place, choose_joints
from engine.arrange.left import DEEPEST, Under, left_strokes, pickup
from engine.arrange.line import Stretch, Stroke, in_order, written
from engine.arrange.plan import Plan, plan
from engine.arrange.strand import strand, third_strikes
from engine.figures import Figure, FigureSlot, over_changes
from engine.hands import Tones, finger
from engine.hands.shapes import Pitches
from engine.harmony import Reading
from engine.meter import Meter
from engine.part import Part, PartNote, PedalMark, Role, Shape, Token
from engine.song import Bar, Hand, Song

_EIGHTH = Fraction(1, 8)
_PLAIN = Joint(PLAIN, 0)


@dataclass(frozen=True, slots=True)
class Laid:
    """One harmony laid out: its bar, figures' slots in both hands, pin and height.

    `phrase` is the bar's place in its phrase and the phrase's length; `exact`
    says that the right hand's figure is the bar's own and stays as written.
    """

    bar: Bar
    spot: Spot
    tones: Tones
    height: float
    phrase: tuple[int, int]
    right: tuple[FigureSlot, ...]
    left: tuple[FigureSlot, ...]
    pin: Pin | None
    exact: bool
    peak: bool


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
    laid = _lay(song, places, the_plan, which)
    basses = _basses(laid, which)
    shapes = _shapes(laid, basses, song.reach, which)
    left = _left(laid, basses, song.reach)
    right = _right(laid, basses, shapes, song.reach, which)
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


def _lay(song: Song, places: tuple[Spot, ...], the_plan: Plan, take: Take) -> list[Laid]:
    groups: dict[int, list[Spot]] = {}
    for spot in places:
        groups.setdefault(spot.bar, []).append(spot)
    asked = [_asked(bar, the_plan) for bar in song.bars]
    figures = choose_figures(asked, take)
    found: list[Laid] = []
    for index, group in groups.items():
        bar = song.bars[index]
        height = the_plan.heights[index]
        spans = tuple((spot.onset, spot.duration) for spot in group)
        right = over_changes(figures[index], bar.meter, spans)
        left = over_changes(_left_figure(bar, height), bar.meter, spans)
        pins = pins_of(bar)
        for at, spot in enumerate(group):
            if spot.tones is not None:
                pin = pins[at] if at < len(pins) else None
                found.append(
                    Laid(
                        bar, spot, spot.tones, height, the_plan.phrase[index],
                        right[at], left[at], pin, asked[index].exact, index in the_plan.peaks,
                    )
                )  # fmt: skip
    if found and not found[-1].exact:
        last = found[-1]
        found[-1] = replace(last, right=last_slots(len(last.right)))
    return found


def _asked(bar: Bar, the_plan: Plan) -> Asked:
    index = bar.number - 1
    own = figure_of(bar, Hand.RIGHT)
    busy = bar.settings.busy or 0.0
    exact = bar.own.settings.right is not None or (own is not None and busy == 0)
    if own is None:
        own = default_figure(Hand.RIGHT, bar.meter, busy, bar.section)
    phrase, length = the_plan.phrase[index]
    return Asked(own, exact, phrase, length, the_plan.heights[index], busy)


def _left_figure(bar: Bar, height: float) -> Figure:
    own = figure_of(bar, Hand.LEFT)
    if own is not None:
        return own
    level = 0.5 * (bar.settings.busy or 0.0) + 0.5 * height
    return default_figure(Hand.LEFT, bar.meter, level, bar.section)


def _basses(laid: list[Laid], take: Take) -> list[int]:
    stages = []
    anchor: Pin | None = None
    for index, item in enumerate(laid):
        anchor = _anchor(laid, index, anchor)
        alone = all(not slot.tokens for slot in item.right)
        centre, ceiling = (60, 80) if alone else (43 - round(3 * item.height), 58)
        if anchor is not None and anchor.bass is not None:
            centre = anchor.bass
            ceiling = anchor.pitches[0] if anchor.pitches else max(ceiling, centre + 14)
        tokens = bass.tokens_of(item.left)
        options = bass.bass_set(item.tones, tokens, centre, ceiling)
        if item.pin is not None and item.pin.bass is not None:
            options = bass.pinned(item.pin.bass, options.top)
        stages.append(options)
    noise = None
    if not take.calm:
        noise = [
            tuple(take.shift("bass", index, at) for at in range(len(options)))
            for index, options in enumerate(stages)
        ]
    return bass.choose_basses(stages, noise)


def _anchor(laid: list[Laid], index: int, before: Pin | None) -> Pin | None:
    """The last pin of the section so far: the rest of the section keeps to its register."""
    item = laid[index]
    if index and laid[index - 1].bar.section != item.bar.section:
        before = None
    if item.pin is None or before is None:
        return item.pin or before
    return Pin(item.pin.pitches or before.pitches, bass=item.pin.bass or before.bass)


def left_top(item: Laid, low: int) -> int:
    """The highest note the left hand plays at a harmony."""
    tokens = bass.tokens_of(item.left)
    return low + max((bass.offset(item.tones, token) for token in tokens), default=0)


def _shapes(laid: list[Laid], basses: list[int], reach: int, take: Take) -> list[Pitches]:
    stages, targets = [], []
    anchor: Pin | None = None
    for index, (item, low) in enumerate(zip(laid, basses, strict=True)):
        anchor = _anchor(laid, index, anchor)
        over = left_top(item, low)
        bounds = skeleton.window(item.height, over)
        target = skeleton.top_target(item.height)
        if anchor is not None and anchor.pitches:
            floor = max(over + 1, anchor.pitches[0] - 4)
            bounds = floor, max(anchor.pitches[-1] + 5, floor + 15)
            target = anchor.pitches[-1]
        stages.append(skeleton.stage(item.tones, bounds, item.pin, reach))
        targets.append(target)
    noise = None
    if not take.calm:
        noise = [
            tuple(take.shift("shape", index, at) for at in range(len(stage)))
            for index, stage in enumerate(stages)
        ]
    return skeleton.choose(stages, targets, noise)


def _left(laid: list[Laid], basses: list[int], reach: int) -> list[tuple[Stroke, ...]]:
    table = costs()["doubling"]
    rows = []
    for index, (item, low) in enumerate(zip(laid, basses, strict=True)):
        wanted = item.bar.settings.doubling or 0.0
        price = table["left_price"] + (table["left_peak"] if item.peak else 0)
        price -= table["reward"] * wanted + table["height"] * item.height
        octaves = wanted > 0 and price < 0 and low - 12 >= DEEPEST and reach >= 12
        between = None
        if index + 1 < len(laid) and _follows(item, laid[index + 1]):
            ends = item.phrase[0] == item.phrase[1] - 1
            wish = any(slot.tokens == ("p",) for slot in item.left)
            if wish or (ends and (item.bar.settings.outside or 0) >= 0.2 and not octaves):
                between = pickup(item.tones, item.left, low, basses[index + 1])
        rows.append(left_strokes(item.tones, item.left, Under(low, reach, octaves, between)))
    return rows


def _follows(before: Laid, after: Laid) -> bool:
    """Whether one harmony begins where the other ends."""
    end = before.bar.start + before.spot.onset + before.spot.duration
    return end == after.bar.start + after.spot.onset


def _right(
    laid: list[Laid], basses: list[int], shapes: list[Pitches], reach: int, take: Take
) -> list[tuple[Stroke, ...]]:
    strands = [
        strand(
            item.tones, shape, item.right,
            third_strikes(item.tones, item.left, len(item.right)), reach,
        )
        for item, shape in zip(laid, shapes, strict=True)
    ]  # fmt: skip
    tops = [left_top(item, low) for item, low in zip(laid, basses, strict=True)]
    places = [
        _place(before, after, top)
        for (before, after), top in zip(pairwise(laid), tops, strict=False)
    ]
    joined = [_joinable(before, after) for before, after in pairwise(laid)]
    chosen = choose_joints(strands, joined, places, take)
    joints = [_PLAIN, *(joint._replace(cost=0) for joint in chosen), _PLAIN]

    def row(index: int) -> tuple[Stroke, ...]:
        entry, leaving = joints[index], joints[index + 1]
        taste = _taste(laid[index], entry, leaving, tops[index], reach, take)
        return strokes(strands[index], entry, leaving, taste)

    rows = []
    for index, item in enumerate(laid):
        rows.append(row(index))
        if not _needs_third(item):
            continue
        # Joints on both sides may leave no room for the third: it matters more than they do.
        if not _has(rows[index], item.tones.third) and joints[index + 1].kind != PLAIN:
            joints[index + 1] = _PLAIN
            rows[index] = row(index)
        if not _has(rows[index], item.tones.third) and joints[index].kind != PLAIN:
            joints[index] = _PLAIN
            rows[index - 1 : index + 1] = [row(index - 1), row(index)]
    return rows


def _has(row: tuple[Stroke, ...], pc: int | None) -> bool:
    return any(pitch % 12 == pc for stroke in row for pitch in stroke.cell or ())


def _joinable(before: Laid, after: Laid) -> bool:
    return _follows(before, after) and not (after.exact and before.exact and _untouched(before))


def _untouched(item: Laid) -> bool:
    """Whether nothing may be added: every amount that adds notes is 0."""
    return not (item.bar.settings.outside or item.bar.settings.anticipation)


def _place(before: Laid, after: Laid, top: int) -> Place:
    slot = before.spot.duration / len(before.right)
    return Place(
        phrase=after.phrase[0],
        half=after.spot.onset > 0,
        ends=before.phrase[0] == before.phrase[1] - 1 and before.bar is not after.bar,
        height=round(10 * after.height),
        outside=round(100 * (before.bar.settings.outside or 0.0)),
        anticipation=round(100 * (before.bar.settings.anticipation or 0.0)),
        early=slot <= _EIGHTH,
        left_top=top,
    )


def _taste(item: Laid, entry: Joint, leaving: Joint, top: int, reach: int, take: Take) -> Taste:
    inside, doubling = costs()["inside"], costs()["doubling"]
    outside = item.bar.settings.outside or 0.0
    decoration = 0
    if outside > 0 and not item.exact:
        decoration = inside["price"][item.phrase[0] % 4] + take.shift("inside", item.bar.number)
        decoration -= round(inside["reward"] * outside + inside["height"] * item.height)
        if entry.kind != PLAIN or leaving.kind != PLAIN:
            decoration += inside["with_joint"]
    doubled = 0
    wanted = item.bar.settings.doubling or 0.0
    if wanted > 0 and not item.exact:
        doubled = take.shift("doubling", item.bar.number) - round(
            doubling["reward"] * wanted + doubling["height"] * item.height
        )
    return Taste(
        min(0, decoration),
        doubled,
        _strengths(item.bar.meter, item.spot.onset, item.spot.duration, len(item.right)),
        top,
        reach,
        _needs_third(item),
    )


def _needs_third(item: Laid) -> bool:
    """Whether the right hand has to sound the third: the left hand doesn't, and there is time."""
    third = item.tones.third
    if third is None or item.exact or item.spot.duration * 2 < item.bar.meter.bar:
        return False
    return all(
        (item.tones.bass + bass.offset(item.tones, token)) % 12 != third
        for token in bass.tokens_of(item.left)
    )


@lru_cache(maxsize=4096)
def _strengths(meter: Meter, onset: Fraction, duration: Fraction, count: int) -> tuple[int, ...]:
    return tuple(meter.strength(onset + duration * at / count) for at in range(count))


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
