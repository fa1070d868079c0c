"""Writing suggestions into a song: in their place, or in every place like it."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from engine.chord import Chord
from engine.errors import SongError
from engine.meter import Meter
from engine.reharm.site import next_chord
from engine.reharm.value import SpanSuggestion, Suggestion
from engine.song import Bar, Slot, Song, set_bar, set_slot


def apply(song: Song, suggestion: Suggestion) -> Song:
    """The song with a suggestion written in its place."""
    return _written(song, suggestion.bar, suggestion.slot, suggestion.chords, suggestion.whole)


def like_places(song: Song, suggestion: Suggestion) -> tuple[tuple[int, int], ...]:
    """The places (bar, slot) like a suggestion's own, that one first in order of time.

    Like are places of the same key with the same chord, as long, with the same chord after.
    """
    own = song.bars[suggestion.bar - 1]
    wanted = _seen(song, own, suggestion.slot, suggestion.whole)
    return tuple(
        (bar.number, at)
        for bar in song.bars
        for at in range(1 if suggestion.whole else len(bar.slots))
        if _seen(song, bar, at, suggestion.whole) == wanted
    )


def apply_like(song: Song, suggestion: Suggestion) -> Song:
    """The song with a suggestion written in its place and in all places like it."""
    for bar, slot in like_places(song, suggestion):
        song = _written(song, bar, slot, suggestion.chords, suggestion.whole)
    return song


def apply_span(song: Song, span: SpanSuggestion) -> Song:
    """The song with a span's chords written in their places."""
    return write_chords(song, {(bar, slot): chord for bar, slot, chord in span.places})


def write_chords(song: Song, chords: dict[tuple[int, int], Chord]) -> Song:
    """The song with chords in places (bar from 1, slot from 0), one edit a bar."""
    bars: dict[int, dict[int, Chord]] = {}
    for (number, slot), chord in chords.items():
        bars.setdefault(number, {})[slot] = chord
    for number, changed in sorted(bars.items()):
        bar = song.bars[number - 1]
        if all(bar.slots[at].chord == chord for at, chord in changed.items()):
            continue
        symbols = [
            (slot.duration, changed[at].symbol if at in changed else symbol_of(slot))
            for at, slot in enumerate(bar.slots)
        ]
        song = set_bar(song, number, bar_text(symbols, bar.meter))
    return song


def symbol_of(slot: Slot) -> str:
    """What is written in a slot, for a bar that repeats another too."""
    if slot.chord is not None and slot.typed in ("%", ""):
        return slot.chord.symbol
    return slot.typed


def bar_text(symbols: Sequence[tuple[Fraction, str]], meter: Meter) -> str:
    """A bar's text from durations in whole notes and symbols: shared equally, or beat by beat.

    Raises SongError where a chord lasts no whole number of beats.
    """
    if len({duration for duration, _ in symbols}) == 1:
        return " ".join(symbol for _, symbol in symbols)
    words = []
    for duration, symbol in symbols:
        beats = duration / meter.beat
        if beats.denominator != 1:
            raise SongError(
                f"{symbol} would last {beats} beats",
                "split the bar so that each lasts whole beats",
            )
        words += [symbol, *["."] * (int(beats) - 1)]
    return " ".join(words)


def _written(song: Song, number: int, slot: int, chords: Sequence[Chord], whole: bool) -> Song:
    symbols = [chord.symbol for chord in chords]
    bar = song.bars[number - 1]
    if whole or len(bar.slots) == 1:
        return set_bar(song, number, " ".join(symbols))
    if len(symbols) == 1:
        return set_slot(song, number, slot, symbols[0])
    parts: list[tuple[Fraction, str]] = []
    for at, each in enumerate(bar.slots):
        if at == slot:
            parts += [(each.duration / len(symbols), symbol) for symbol in symbols]
        else:
            parts.append((each.duration, symbol_of(each)))
    return set_bar(song, number, bar_text(parts, bar.meter))


def _seen(song: Song, bar: Bar, slot: int, whole: bool) -> tuple[object, ...]:
    slots = bar.slots if whole else bar.slots[slot : slot + 1]
    after = next_chord(song, bar.number, len(bar.slots) - 1 if whole else slot)
    return (
        bar.key,
        bar.meter,
        tuple((each.kind, each.chord, each.duration) for each in slots),
        after,
    )
