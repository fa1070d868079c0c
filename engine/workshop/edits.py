"""Edits of the song from where the hand stands: chords, bars, sections, the key."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from engine.errors import AlbertiError, InputError, KeyNameError, SongError
from engine.key import Key
from engine.pitch import Interval
from engine.song import (
    Bar,
    Song,
    add_intro,
    bar_text,
    delete_bars,
    insert_bars,
    interval_to,
    set_bar,
    set_slot,
    sounding_text,
    split_section,
    transpose,
)
from engine.workshop.history import change
from engine.workshop.practice import shown
from engine.workshop.work import Cursor, Work, refuse, say


def attempt(
    work: Work, edit: Callable[[Song], Song], name: str, *, cursor: Cursor | None = None
) -> Work:
    """The work after an edit, or with the reason why the song does not allow it."""
    try:
        song = edit(work.song)
    except AlbertiError as error:
        return refuse(work, f"{error.message}; {error.cure}" if error.cure else error.message)
    return change(work, song, name, cursor=cursor)


def write_symbol(work: Work, at: Cursor, symbol: str) -> Work:
    """One chord written in its slot. Raises ChartError or ChordError."""
    typed = symbol.strip()
    song = set_slot(work.song, at.bar, at.slot, typed)
    return change(work, song, f"Bar {at.bar}: {typed}", cursor=at)


def write_bar(work: Work, number: int, text: str) -> Work:
    """A whole bar's chords. Raises ChartError or ChordError."""
    song = set_bar(work.song, number, text)
    return change(work, song, f"Bar {number}: {text.strip()}", cursor=Cursor(number, 0))


def repeat_bar(work: Work) -> Work:
    """Write % in the bar."""
    number = work.cursor.bar
    return attempt(work, lambda song: set_bar(song, number, "%"), f"Bar {number} repeats")


def open_slot(work: Work) -> Work:
    """Leave the slot open, for chords to be suggested."""
    at = work.cursor
    return attempt(work, lambda song: set_slot(song, at.bar, at.slot, "?"), f"Bar {at.bar}: open")


def silence_slot(work: Work) -> Work:
    """No chord in the slot."""
    at = work.cursor
    return attempt(
        work, lambda song: set_slot(song, at.bar, at.slot, "N.C."), f"Bar {at.bar}: N.C."
    )


def text_of_slots(bar: Bar, slots: Sequence[tuple[Fraction, Fraction, str]]) -> str:
    """A bar's text for (onset, duration, symbol) slots: plain where equal, else beat by beat."""
    lengths = {duration for _, duration, _ in slots}
    if len(lengths) == 1 and _even(bar, len(slots)):
        return " ".join(symbol for _, _, symbol in slots)
    words = []
    for beat in range(bar.meter.beats):
        start = beat * bar.meter.beat
        inside = [
            (onset, sym) for onset, _, sym in slots if start <= onset < start + bar.meter.beat
        ]
        offsets = [onset - start for onset, _ in inside]
        if not inside:
            words.append(".")
        elif offsets == [0]:
            words.append(inside[0][1])
        else:
            parts = _parts(offsets, bar.meter.beat)
            given = {offset: symbol for offset, (_, symbol) in zip(offsets, inside, strict=True)}
            step = bar.meter.beat / parts
            words.append(f"({' '.join(given.get(n * step, '.') for n in range(parts))})")
    return " ".join(words)


def _even(bar: Bar, count: int) -> bool:
    return len(set(bar.meter.group_lengths)) == 1 or count in (1, len(bar.meter.groups))


def _parts(offsets: Iterable[Fraction], beat: Fraction) -> int:
    """Into how many equal parts a beat divides so that all offsets fall on one."""
    parts = 1
    for offset in offsets:
        parts = max(parts, (offset / beat).denominator)
    return max(2, parts)


def _plain_slots(bar: Bar) -> list[tuple[Fraction, Fraction, str]]:
    return [(slot.onset, slot.duration, slot.typed) for slot in bar.slots]


def split_slot(work: Work) -> Work:
    """The chord under the cursor in two halves, the cursor on the second."""
    at, bar, slot = work.cursor, work.bar, work.slot
    beats = slot.duration / bar.meter.beat
    middle = bar.meter.middle
    if slot.duration == bar.meter.bar and middle is not None:
        first = middle
    elif beats.denominator == 1 and beats > 1:
        first = bar.meter.beat * -(-int(beats) // 2)
    else:
        first = slot.duration / 2
    halves = [
        (slot.onset, first, slot.typed),
        (slot.onset + first, slot.duration - first, slot.typed),
    ]
    slots = _plain_slots(bar)
    slots[at.slot : at.slot + 1] = halves
    return attempt(
        work,
        lambda song: set_bar(song, at.bar, text_of_slots(bar, slots)),
        f"Bar {at.bar}: chord divided",
        cursor=Cursor(at.bar, at.slot + 1),
    )


def join_slot(work: Work) -> Work:
    """Take the chord under the cursor out; the one before (or after) it takes its time."""
    at, bar = work.cursor, work.bar
    if len(bar.slots) == 1:
        return refuse(work, "This is the bar's only chord: d takes the bar out")
    slots = _plain_slots(bar)
    gone = slots.pop(at.slot)
    if at.slot > 0:
        onset, duration, symbol = slots[at.slot - 1]
        slots[at.slot - 1] = (onset, duration + gone[1], symbol)
    else:
        slots[0] = (gone[0], gone[1] + slots[0][1], slots[0][2])
    return attempt(
        work,
        lambda song: set_bar(song, at.bar, text_of_slots(bar, slots)),
        f"Bar {at.bar}: {gone[2]} taken out",
        cursor=Cursor(at.bar, max(0, at.slot - 1)),
    )


def new_bar(work: Work) -> Work:
    """A bar after the cursor with the chord that sounds there, the cursor in it."""
    number = work.cursor.bar + 1
    symbol = work.bar.slots[-1].typed if not work.bar.repeats else "%"
    return attempt(
        work,
        lambda song: _insert_after(song, work.bar, [symbol]),
        f"Bar {number} put in",
        cursor=Cursor(number, 0),
    )


def _insert_after(song: Song, bar: Bar, texts: Sequence[str]) -> Song:
    """Bars put in behind a bar, in its own section."""
    number = bar.number + 1
    last = number > len(song.bars) or song.bars[number - 1].section != bar.section
    if not last:
        return insert_bars(song, number, texts)
    # Behind a section's last bar: put them in before it, then let the two change places.
    own = sounding_text(song, bar.number)
    rest = [*texts]
    longer = insert_bars(song, bar.number, [own, *rest[:-1]])
    final = rest[-1] if rest[-1] != "%" else (rest[-2] if len(rest) > 1 else own)
    return set_bar(longer, bar.number + len(rest), final)


def take_out(work: Work) -> Work:
    """Take the selected bars out, to be put in elsewhere."""
    first, last = work.selection
    kept = _texts(work.song, first, last)
    after = attempt(
        work,
        lambda song: delete_bars(song, first, last),
        f"Bar {shown((first, last))} taken out"
        if first == last
        else f"Bars {shown((first, last))} taken out",
        cursor=Cursor(first, 0),
    )
    return replace(after, clip=kept, anchor=None) if after.song != work.song else after


def copy(work: Work) -> Work:
    """Remember the selected bars."""
    first, last = work.selection
    count = last - first + 1
    some = "1 bar copied: p puts it in" if count == 1 else f"{count} bars copied: p puts them in"
    said = f"{some} after the cursor"
    return say(replace(work, clip=_texts(work.song, first, last), anchor=None), said)


def paste(work: Work) -> Work:
    """Put the remembered bars in after the cursor."""
    if not work.clip:
        return refuse(work, "Nothing to put in: y copies bars, d takes them out")
    number = work.cursor.bar + 1
    clip = work.clip
    count = len(clip)
    return attempt(
        work,
        lambda song: _insert_after(song, work.bar, clip),
        f"{count} bar{'s' if count > 1 else ''} put in",
        cursor=Cursor(number, 0),
    )


def _texts(song: Song, first: int, last: int) -> tuple[str, ...]:
    """The bars' texts; one that repeats a bar outside them is written out."""
    return tuple(
        sounding_text(song, number) if number == first else bar_text(song, number)
        for number in range(first, last + 1)
    )


def begin_section(work: Work, name: str) -> Work:
    """A new section from the bar under the cursor."""
    number = work.cursor.bar
    return attempt(work, lambda song: split_section(song, number, name), f"Section {name} begins")


def begin_with_intro(work: Work) -> Work:
    """An introduction before the first section."""
    return attempt(work, add_intro, "An introduction begins the song", cursor=Cursor(1, 0))


def move_key(work: Work, text: str) -> Work:
    """The song in another key, or an interval away. Raises an InputError for what is neither."""
    words = text.strip()
    try:
        interval = Interval.parse(words)
    except InputError:
        key = _typed_key(words)
        interval = interval_to(work.song.key, key.tonic)
    moved = transpose(work.song, interval)
    return change(work, moved, f"Transposed to {moved.key.symbol}")


def _typed_key(words: str) -> Key:
    if words[:1].upper() not in "ABCDEFG":
        cure = "write one like “F# minor”, “m3” or “A3-D5”"
        raise KeyNameError(f"“{words}” is no key, interval or range", cure)
    return Key.parse(words if " " in words or len(words) > 2 else words[:1].upper() + words[1:])


def known_bar(work: Work, text: str) -> int:
    """A typed bar number. Raises SongError."""
    if not text.strip().isdigit() or not 1 <= int(text) <= len(work.song.bars):
        raise SongError(f"there is no bar “{text}”", f"bars go from 1 to {len(work.song.bars)}")
    return int(text)
