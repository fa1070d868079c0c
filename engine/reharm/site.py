"""A place of a song with all that a technique looks at: neighbours, key, present chord."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from engine.chord import Chord
from engine.errors import SongError
from engine.harmony import Reading
from engine.key import Key
from engine.reharm.counts import FIRST, LAST, PHRASE
from engine.reharm.families import class_of
from engine.reharm.style import REACH, Place
from engine.song import Bar, Slot, Song


@dataclass(frozen=True, slots=True)
class Site:
    """One slot of a bar, or the whole bar (`slot` None).

    `before` and `after` are the nearest sounding chords; `present` is what
    stands here, None for an open place. Times are whole notes, `onset` from
    the song's start.
    """

    song: Song
    bar: Bar
    slot: int | None
    key: Key
    onset: Fraction
    duration: Fraction
    before: Chord | None
    present: Chord | None
    after: Chord | None
    second_before: Chord | None = None
    second_after: Chord | None = None

    @property
    def end(self) -> Fraction:
        return self.onset + self.duration


def site_at(song: Song, reading: Reading | None, bar: int, slot: int | None = None) -> Site:
    """The place of a bar (numbered from 1) or of one of its slots (from 0).

    Raises SongError for a bar or slot that isn't there.
    """
    if not 1 <= bar <= len(song.bars):
        raise SongError(f"there is no bar {bar}", f"bars are numbered from 1 to {len(song.bars)}")
    here = song.bars[bar - 1]
    if slot is not None and not 0 <= slot < len(here.slots):
        raise SongError(
            f"bar {bar} has no chord {slot + 1}", f"it has {len(here.slots)}: count from 1"
        )
    first = here.slots[slot or 0]
    last = here.slots[slot if slot is not None else -1]
    onset = here.start + first.onset
    end = here.start + last.onset + last.duration
    past = _chords(song, bar, slot or 0, -1)
    future = _chords(song, bar, slot if slot is not None else len(here.slots) - 1, 1)
    return Site(
        song=song,
        bar=here,
        slot=slot,
        key=key_at(here, reading),
        onset=onset,
        duration=end - onset,
        before=past[0],
        present=first.chord,
        after=future[0],
        second_before=past[1],
        second_after=future[1],
    )


def key_at(bar: Bar, reading: Reading | None) -> Key:
    """The key a bar is read in: that of its region where the reading heard a modulation."""
    for region in reading.regions if reading else ():
        if region.first <= bar.number <= region.last and region.how:
            return region.key
    return bar.key


def next_chord(song: Song, bar: int, slot: int) -> Chord | None:
    """The chord that sounds next after a slot, no further than `REACH` bars."""
    return _chords(song, bar, slot, 1)[0]


def _chords(song: Song, bar: int, slot: int, step: int) -> tuple[Chord | None, Chord | None]:
    """The two nearest chords that differ, one way; no further than `REACH` bars."""
    found: list[Chord] = []
    number, at = bar, slot + step
    while abs(number - bar) <= REACH and 1 <= number <= len(song.bars) and len(found) < 2:
        slots: tuple[Slot, ...] = song.bars[number - 1].slots
        if not 0 <= at < len(slots):
            number += step
            at = 0 if step > 0 else -1
            if 1 <= number <= len(song.bars) and step < 0:
                at = len(song.bars[number - 1].slots) - 1
            continue
        chord = slots[at].chord
        if chord is not None and (not found or found[-1] != chord):
            found.append(chord)
        at += step
    return (found[0] if found else None), (found[1] if len(found) > 1 else None)


def place_of(site: Site, key: Key | None = None) -> Place:
    """What the style looks at: the classes of the bars around, in a key (the site's own).

    A slot of a bar that has others counts those as bars of their own. Silent
    and open bars are left out only where they end the bars that are known.
    """
    key = key or site.key
    past, future = bars_around(site)
    return Place(
        key.is_minor, _classes(past, key), _classes(future, key), _phrase(site), _end(site)
    )  # fmt: skip


def _phrase(site: Site) -> int | None:
    """The bar's place in eight, from 0; not known in a section that isn't made of fours."""
    bars = sum(1 for bar in site.song.bars if bar.section == site.bar.section)
    return None if bars % 4 else (site.bar.in_section - 1) % PHRASE


def _end(site: Site) -> int | None:
    if site.bar.number == 1:
        return FIRST
    return LAST if site.bar.number == len(site.song.bars) else None


def bars_around(site: Site) -> tuple[list[list[Chord]], list[list[Chord]]]:
    """The chords of the bars before and after, nearest first, up to the first without any."""
    slots = site.bar.slots
    inner = [] if site.slot is None else [[s.chord] for s in slots[: site.slot] if s.chord]
    outer = [] if site.slot is None else [[s.chord] for s in slots[site.slot + 1 :] if s.chord]
    past = [*reversed(inner), *_side(site.song, site.bar.number, -1)]
    future = [*outer, *_side(site.song, site.bar.number, 1)]
    return past[:REACH], future[:REACH]


def _side(song: Song, bar: int, step: int) -> list[list[Chord]]:
    found: list[list[Chord]] = []
    number = bar + step
    while 1 <= number <= len(song.bars) and len(found) < REACH:
        chords = [slot.chord for slot in song.bars[number - 1].slots if slot.chord is not None]
        if not chords:
            break
        found.append(chords)
        number += step
    return found


def _classes(bars: list[list[Chord]], key: Key) -> tuple[tuple[int, ...], ...]:
    return tuple(tuple(class_of(chord, key) for chord in bar) for bar in bars)
