"""What lists offer beside the chart: other chords, ways for bars, moves of the song, keys."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from engine.song import Song, VoiceKey, transpose, voice_keys
from engine.workshop import About, Ask, Chooser, Work, change, practice, reharmonise
from tui.item import Item
from tui.view import signed, slot_text

if TYPE_CHECKING:
    from engine.reharm import SpanSuggestion, Suggestion


def as_it_stands(label: str, detail: str = "as it stands") -> Item:
    return Item(label, detail, song=lambda work: work.song)


def ideas(work: Work) -> tuple[Item, ...]:
    """What stands there, then what the reharmoniser has found for it."""
    ask, ideas = work.chooser.ask if work.chooser else None, work.ideas
    if ask is None:
        return ()
    first = as_it_stands(_standing(ask))
    if ideas is None or ideas.ask != ask:
        return (first, Item("looking for chords …", heading=True))
    if ideas.trouble:
        return (first, Item(ideas.trouble, heading=True))
    return (first, *(_idea(each) for each in ideas.found))


def _standing(ask: Ask) -> str:
    """What stands in the place or the bars that are asked about."""
    if ask.about is About.CHORD:
        return slot_text(ask.song.bars[ask.bar - 1].slots[ask.slot])
    last = ask.last if ask.about is About.BARS else ask.bar
    bars = ask.song.bars[ask.bar - 1 : last]
    return " | ".join(" ".join(map(slot_text, bar.slots)) for bar in bars)


def _idea(each: Suggestion | SpanSuggestion) -> Item:
    def song(work: Work) -> Song:
        return reharmonise.with_idea(work.song, each)

    from engine.reharm import SpanSuggestion  # loaded by now: it made these

    if isinstance(each, SpanSuggestion):
        return _way(each, song)

    def everywhere(work: Work) -> Work:
        count = reharmonise.like_count(work.song, each)
        where = "this place" if count == 1 else f"{count} like places"
        edited = reharmonise.with_idea_everywhere(work.song, each)
        return change(work, edited, f"{each.symbol} at {where}, {each.technique}")

    return Item(
        each.pretty,
        signed(f"{each.technique}. {each.why}"),
        signed(each.roman),
        song=song,
        run=lambda work: change(
            work, song(work), f"Bar {each.bar}: {each.symbol}, {each.technique}"
        ),
        everywhere=everywhere,
    )


def _way(each: SpanSuggestion, song: Callable[[Work], Song]) -> Item:
    """A way through a stretch of bars."""
    bars = practice.shown((each.first_bar, each.last_bar))

    def run(work: Work) -> Work:
        return change(replace(work, anchor=None), song(work), f"Bars {bars}: {each.name}")

    cut_short = f" {each.symbol}" if len(each.symbol) > NARROW else ""
    detail = signed(f"{each.name}. {each.why}{cut_short}")
    return Item(signed(each.symbol), detail, song=song, run=run)


def song_moves() -> list[Item]:
    """The moves of the whole song."""

    def item(name: str, title: str) -> Item:
        def song(work: Work) -> Song:
            return reharmonise.moved(work.song, name)

        head, _, detail = title.removeprefix("The whole song ").partition(":")
        return Item(head, detail.strip() or title, song=song, run=reharmonise.move(name))

    return [item(name, title) for name, title in reharmonise.MOVES]


#: The longest label that a narrow list shows whole.
NARROW = 26
#: How many other keys are proposed for a voice.
OTHER_KEYS = 7


@lru_cache(maxsize=8)
def _voice_keys(song: Song, low: int, high: int) -> tuple[VoiceKey, ...]:
    return voice_keys(song, low, high, count=12)


def keys_for(work: Work, chooser: Chooser) -> list[Item]:
    """Keys in which the melody lies in a range: the present one, then the best first."""

    def item(each: VoiceKey) -> Item:
        def song(work: Work) -> Song:
            return transpose(work.song, each.interval)

        def run(work: Work) -> Work:
            return change(work, song(work), f"Transposed to {each.key.symbol}, for a voice")

        note = "" if each.low is None else "fits" if each.fits else f"{each.outside} outside"
        return Item(each.key.symbol, each.says, note, song=song, run=run)

    keys = _voice_keys(work.song, *chooser.voice)
    present = [item(each) for each in keys if each.interval.semitones == 0]
    others = [item(each) for each in keys if each.interval.semitones != 0]
    return [*(present or [as_it_stands(work.song.key.symbol)]), *others[:OTHER_KEYS]]
