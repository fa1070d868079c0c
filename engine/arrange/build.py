"""From a song and its reading to the part: the stages in their order."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from engine.arrange import bass, skeleton
from engine.arrange.figuring import default_figure
from engine.arrange.ground import Pin, Spot, check_song, figure_of, pins_of, spots
from engine.arrange.line import Stretch, Stroke, in_order, written
from engine.arrange.plan import Plan, plan
from engine.arrange.strand import Strand, strand, third_strikes
from engine.figures import ALONE, Figure, FigureSlot, over_changes
from engine.hands import Tones
from engine.hands.shapes import Pitches
from engine.harmony import Reading
from engine.part import Part, PedalMark, Role, Shape
from engine.song import Bar, Hand, Song

_ACCENT = 7


@dataclass(frozen=True, slots=True)
class Laid:
    """One harmony laid out: its bar, figures' slots in both hands, pin and height."""

    bar: Bar
    spot: Spot
    tones: Tones
    height: float
    right: tuple[FigureSlot, ...]
    left: tuple[FigureSlot, ...]
    pin: Pin | None


def arrange(song: Song, reading: Reading, *, take: int | None = None, seed: int = 0) -> Part:
    """The part of both hands for a song, as its reading spells it.

    The same arguments give the same part everywhere. `take` (the song's own
    where None) and `seed` choose among the lawful parts. Raises FigureError
    where a figure or a pinned shape cannot be read.
    """
    check_song(song)
    the_plan = plan(song, reading)
    places = spots(song, reading)
    laid = _lay(song, places, the_plan)
    basses = _basses(laid)
    shapes = _shapes(laid, basses, song.reach)
    left = {
        (item.spot.bar, item.spot.slot): _left(item, low, song.reach)
        for item, low in zip(laid, basses, strict=True)
    }
    right = {
        (item.spot.bar, item.spot.slot): _right(item, shape, song.reach)
        for item, shape in zip(laid, shapes, strict=True)
    }
    levels = tuple(velocity(height) for height in the_plan.heights)
    notes, tokens = [], []
    for hand, strokes in ((Hand.LEFT, left), (Hand.RIGHT, right)):
        stretches = [_stretch(song, spot, levels, strokes) for spot in places]
        more, texts = written(stretches, hand)
        notes += more
        tokens += texts
    return Part(
        notes=in_order(notes),
        pedal=_pedal(song, places),
        dynamics=the_plan.dynamics,
        tokens=tuple(tokens),
        shapes=tuple(
            Shape(
                item.bar.number,
                item.bar.start + item.spot.onset,
                item.spot.duration,
                tuple(item.tones.pitch(midi) for midi in shape),
            )
            for item, shape in zip(laid, shapes, strict=True)
        ),
        heights=the_plan.heights,
    )


def velocity(height: float) -> int:
    """The velocity of a height on the arc, between the marks pp (32) and ff (108)."""
    return round(34 + 68 * height)


def _lay(song: Song, places: tuple[Spot, ...], the_plan: Plan) -> list[Laid]:
    found: list[Laid] = []
    groups: dict[int, list[Spot]] = {}
    for spot in places:
        groups.setdefault(spot.bar, []).append(spot)
    for index, group in groups.items():
        bar = song.bars[index]
        height = the_plan.heights[index]
        spans = tuple((spot.onset, spot.duration) for spot in group)
        right = over_changes(_figure(bar, Hand.RIGHT, height), bar.meter, spans)
        left = over_changes(_figure(bar, Hand.LEFT, height), bar.meter, spans)
        pins = pins_of(bar)
        for at, spot in enumerate(group):
            if spot.tones is not None:
                pin = pins[at] if at < len(pins) else None
                found.append(Laid(bar, spot, spot.tones, height, right[at], left[at], pin))
    return found


def _figure(bar: Bar, hand: Hand, height: float) -> Figure:
    own = figure_of(bar, hand)
    if own is not None:
        return own
    busy = bar.settings.busy or 0.0
    level = busy if hand is Hand.RIGHT else 0.5 * busy + 0.5 * height
    return default_figure(hand, bar.meter, level, bar.section)


def _basses(laid: list[Laid]) -> list[int]:
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
    return bass.choose_basses(stages)


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


def _shapes(laid: list[Laid], basses: list[int], reach: int) -> list[Pitches]:
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
    return skeleton.choose(stages, targets)


def _left(item: Laid, low: int, reach: int) -> tuple[Stroke, ...]:
    return _left_strokes(item.tones, item.left, low, reach)


@lru_cache(maxsize=8192)
def _left_strokes(
    tones: Tones, slots: tuple[FigureSlot, ...], low: int, reach: int
) -> tuple[Stroke, ...]:
    strokes = []
    for slot in slots:
        if not slot.tokens:
            strokes.append(Stroke(() if slot.hold else None, text=slot.text))
            continue
        notes = sorted(
            {low + bass.offset(tones, token): _left_role(token) for token in slot.tokens}.items()
        )
        cell = tuple(midi for midi, _ in notes)
        roles = tuple(role if midi % 12 in tones.pcs else Role.ADDED for midi, role in notes)
        strokes.append(
            Stroke(
                cell, roles, slot.text,
                loud=_ACCENT if slot.accent else 0,
                rings=slot.rings,
                late=cell[-1] - cell[0] > reach,
            )
        )  # fmt: skip
    return tuple(strokes)


def _left_role(token: str) -> Role:
    return Role.BASS if token in ("R", "8", "5-") or token in ALONE else Role.CHORD


def _right(item: Laid, shape: Pitches, reach: int) -> tuple[Stroke, ...]:
    thirds = third_strikes(item.tones, item.left, len(item.right))
    return _right_strokes(strand(item.tones, shape, item.right, thirds, reach), item.right)


@lru_cache(maxsize=8192)
def _right_strokes(plain: Strand, slots: tuple[FigureSlot, ...]) -> tuple[Stroke, ...]:
    strokes = []
    for cell, slot in zip(plain.cells, slots, strict=True):
        roles = tuple(
            Role.CHORD if midi % 12 in plain.tones.pcs else Role.ADDED for midi in cell or ()
        )
        strokes.append(
            Stroke(cell, roles, slot.text, loud=_ACCENT if slot.accent else 0, rings=slot.rings)
        )
    return tuple(strokes)


def _stretch(
    song: Song,
    spot: Spot,
    levels: tuple[int, ...],
    strokes: dict[tuple[int, int], tuple[Stroke, ...]],
) -> Stretch:
    bar = song.bars[spot.bar]
    row = strokes.get((spot.bar, spot.slot), (Stroke(None),))
    return Stretch(bar, bar.start + spot.onset, spot.duration, spot.tones, levels[spot.bar], row)


def _pedal(song: Song, places: tuple[Spot, ...]) -> tuple[PedalMark, ...]:
    """Up and down again at each bar and each change of harmony; up where nothing sounds."""
    marks: list[PedalMark] = []
    down = False
    for spot in places:
        if not spot.renewed:
            continue
        onset = song.bars[spot.bar].start + spot.onset
        if down:
            marks.append(PedalMark(onset, down=False))
        down = spot.tones is not None
        if down:
            marks.append(PedalMark(onset, down=True))
    if down:
        marks.append(PedalMark(song.end, down=False))
    return tuple(marks)
