"""Every harmony laid out: its place, its figures in both hands, and what is asked of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from engine.arrange import bass
from engine.arrange.costs import Take
from engine.arrange.edges import as_played, closing
from engine.arrange.figuring import (
    Asked,
    choose_figures,
    closing_figure,
    default_figure,
    last_slots,
)
from engine.arrange.ground import Pin, Spot, figure_of, pins_of
from engine.arrange.keep import Kept, holds, kept
from engine.arrange.plan import Plan
from engine.errors import FigureError
from engine.figures import Figure, FigureSlot, find_figure, over_changes
from engine.hands import Tones
from engine.song import Bar, Hand, Song
from engine.song.melody import MelodyNote, melody_notes

#: The highest note of the right hand where no melody lies over it.
HIGHEST = 86
#: The least slots in which the last harmony rises.
_ROOM = 6
#: How far below a melody the right hand stays, and the lowest it gives way to one.
BELOW, GIVES_WAY = 2, 66


@dataclass(frozen=True, slots=True)
class Laid:
    """One harmony laid out: its bar, figures' slots in both hands, pin and height.

    `phrase` is the bar's place in its phrase and the phrase's length; `exact`
    says that the right hand's figure is the bar's own and stays as written;
    `ceiling` is the highest note the right hand may have; `kept` is the kept
    bar it belongs to, while that holds; `lasts` says that it fills half a bar
    or more; `span` is how far the left hand's figure goes above its bass;
    `needs` are the pitch classes that the right hand has to sound, for it lasts
    and the left hand doesn't: the third, and over another bass the root; `sung`
    are the right hand's (slot, pitch) pairs that would double a melody or rub
    against it; `closes` says that the song's close is played for its figures.
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
    ceiling: int
    kept: Kept | None
    lasts: bool
    span: int
    needs: tuple[int, ...]
    sung: tuple[tuple[int, int], ...] = ()
    closes: bool = False

    def left_top(self, low: int) -> int:
        """The highest note the left hand plays on a bass."""
        return low + self.span

    def early(self) -> bool:
        """Whether a slot of the right hand, an eighth or less, is short enough to anticipate."""
        lasts = self.spot.duration
        return 8 * lasts.numerator <= len(self.right) * lasts.denominator

    def over(self, left: tuple[FigureSlot, ...]) -> Laid:
        """The same with another figure in the left hand."""
        needs = _needs(self.tones, left) if self.lasts else ()
        return replace(self, left=left, span=bass.span(self.tones, left), needs=needs)


@lru_cache(maxsize=8192)
def _needs(tones: Tones, left: tuple[FigureSlot, ...]) -> tuple[int, ...]:
    wanted = (tones.third, None if tones.spared_root else tones.root)
    return tuple(pc for pc in wanted if pc is not None and not bass.sounds(tones, left, pc))


def follows(before: Laid, after: Laid) -> bool:
    """Whether one harmony begins where the other ends."""
    return before.spot.end == after.spot.start


def lay(song: Song, places: tuple[Spot, ...], the_plan: Plan, take: Take) -> list[Laid]:
    """Every sounding harmony of the song in order."""
    groups: dict[int, list[Spot]] = {}
    for spot in places:
        groups.setdefault(spot.bar, []).append(spot)
    own = [kept(bar) for bar in song.bars]
    bars = [as_played(song, bar, the_plan) for bar in song.bars]
    asked = [_asked(bar, the_plan, mine) for bar, mine in zip(bars, own, strict=True)]
    figures = choose_figures(asked, take)
    lefts = [
        _left_figure(bar, the_plan.heights[index], mine)
        for index, (bar, mine) in enumerate(zip(bars, own, strict=True))
    ]
    close = closing(song, take)
    opened = [
        index
        for index in close.opened
        if not asked[index].exact and bars[index].own.settings.left is None
    ]
    for index in opened:
        figures[index] = closing_figure(Hand.RIGHT, bars[index].meter)
        lefts[index] = closing_figure(Hand.LEFT, bars[index].meter)
    found: list[Laid] = []
    for index, group in groups.items():
        bar, mine = bars[index], own[index]
        held = mine if mine is not None and holds(bar, mine) else None
        height = the_plan.heights[index]
        spans = tuple((spot.onset, spot.duration) for spot in group)
        right = over_changes(figures[index], bar.meter, spans)
        left = over_changes(lefts[index], bar.meter, spans)
        pins = pins_of(bar)
        for at, spot in enumerate(group):
            if spot.tones is None:
                continue
            pin = pins[at] if at < len(pins) else None
            low = bass.bass_slots(spot.tones, left[at])
            if index in the_plan.peaks and _may_open(bar, mine):
                low = bass.tenth_slots(spot.tones, low, song.reach)
            lasts = len(group) == 1 or spot.duration * 2 >= bar.meter.bar
            if held is not None:
                pin = Pin(
                    held.shape_at(spot.onset),
                    bass=held.lowest(spot.onset, spot.onset + spot.duration),
                )
            found.append(
                Laid(
                    bar, spot, spot.tones, height, the_plan.phrase[index], right[at], low,
                    pin, mine is not None or bar.own.settings.right is not None,
                    index in the_plan.peaks, HIGHEST, held,
                    lasts, bass.span(spot.tones, low), _needs(spot.tones, low) if lasts else (),
                    closes=index in opened,
                )
            )  # fmt: skip
    if found and not asked[found[-1].spot.bar].exact and found[-1].spot.end == song.end:
        found[-1] = _ended(found[-1], rises=not close.opened)
    return _under_melody(song, found)


def _ended(last: Laid, *, rises: bool) -> Laid:
    """The last harmony with what ends a song, in the hands whose figure isn't the bar's own."""
    rises = rises and len(last.right) >= _ROOM
    rolled = last_slots(Hand.RIGHT, len(last.right), rises=rises)
    ended = replace(last, right=rolled, closes=True)
    if last.bar.own.settings.left is not None:
        return ended
    return ended.over(last_slots(Hand.LEFT, len(last.left), rises=rises))


def _under_melody(song: Song, laid: list[Laid]) -> list[Laid]:
    """Lower the right hand's ceiling under a melody that lies high enough to give it room."""
    if not any(section.melody for section in song.sections):
        return laid
    notes = melody_notes(song)
    found, first = [], 0
    for item in laid:
        while first < len(notes) and notes[first].end <= item.spot.start:
            first += 1
        over = []
        for note in notes[first:]:
            if note.onset >= item.spot.end:
                break
            over.append(note)
        lowest = min((note.pitch.midi for note in over), default=HIGHEST + BELOW)
        ceiling = lowest - BELOW if lowest - BELOW >= GIVES_WAY else HIGHEST
        sung = _sung(item, over)
        found.append(replace(item, ceiling=ceiling, sung=sung))
    return found


def _sung(item: Laid, over: list[MelodyNote]) -> tuple[tuple[int, int], ...]:
    """What a low melody keeps from each slot: half steps beside held notes, and keys it strikes.

    A key is kept from the slot where the melody strikes it, and from one that
    would hold it there.
    """
    count = len(item.right)
    step = item.spot.duration / count
    found = []
    for index in range(count):
        held = index + 1
        while held < count and item.right[held].hold:
            held += 1
        onset = item.spot.start + index * step
        until = item.spot.start + held * step
        for note in over:
            midi = note.pitch.midi
            if onset <= note.onset < until:
                found.append((index, midi))
            if note.onset <= onset < note.end and note.duration >= item.bar.meter.beat:
                found += [(index, midi - 1), (index, midi + 1)]
    return tuple(found)


def _written(bar: Bar, hand: Hand, own: Kept | None) -> Figure | None:
    """A hand's figure as it is written for the bar, or as it was kept."""
    text = dict(own.figures).get(hand) if own is not None else None
    if text is not None:
        try:
            return find_figure(text, hand, bar.meter)
        except FigureError:
            return figure_of(bar, hand)
    return figure_of(bar, hand)


def _asked(bar: Bar, the_plan: Plan, mine: Kept | None) -> Asked:
    index = bar.number - 1
    own = _written(bar, Hand.RIGHT, mine)
    busy = bar.settings.busy or 0.0
    exact = bar.own.settings.right is not None or (own is not None and busy == 0)
    if own is None:
        own = default_figure(Hand.RIGHT, bar.meter, busy, bar.section)
    phrase, length = the_plan.phrase[index]
    exact = exact or mine is not None
    return Asked(
        own,
        exact,
        phrase,
        length,
        the_plan.heights[index],
        busy,
        bar.section,
        index in the_plan.sparse,
    )


def _may_open(bar: Bar, mine: Kept | None) -> bool:
    """Whether the left hand may do more than its figure says."""
    return bool(bar.settings.doubling) and bar.own.settings.left is None and mine is None


def _left_figure(bar: Bar, height: float, mine: Kept | None) -> Figure:
    own = _written(bar, Hand.LEFT, mine)
    if own is not None:
        return own
    level = 0.5 * (bar.settings.busy or 0.0) + 0.5 * height
    return default_figure(Hand.LEFT, bar.meter, level, bar.section)
