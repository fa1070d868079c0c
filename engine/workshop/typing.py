"""From keys to meaning: beginning a line, what it shows while it grows, and taking it."""

from __future__ import annotations

import re
from dataclasses import replace

from engine.errors import InputError
from engine.song import Bar, Hand, Song, bar_text, melody_text, read_range, set_melody
from engine.workshop import edits, moves, practice, steering
from engine.workshop.dials import Dial, dial
from engine.workshop.effects import KeepFigure, Save
from engine.workshop.entry import Fault, bar_fault, chord_fault, melody_tried, tokens_fault
from engine.workshop.history import change
from engine.workshop.practice import shown
from engine.workshop.rendering import asked_for
from engine.workshop.work import (
    Chooser,
    Cursor,
    Entry,
    EntryKind,
    Extent,
    ListKind,
    Notice,
    Outcome,
    Pane,
    Tone,
    Work,
    refuse,
    say,
)

_ROOTS = "abcdefg"
#: Lines of which the first character typed takes the place, and those that may be empty.
_FRESH = (EntryKind.TEMPO, EntryKind.LOOP, EntryKind.DIAL, EntryKind.SETTING)
_EMPTY = (EntryKind.TOKENS, EntryKind.MELODY, EntryKind.SETTING, EntryKind.DIAL)
#: Where a line is typed in place; others are typed under the panes.
_PANES = {
    EntryKind.CHORD: Pane.CHART,
    EntryKind.BAR: Pane.CHART,
    EntryKind.TOKENS: Pane.FIGURE,
}


def begin(
    work: Work,
    kind: EntryKind,
    text: str = "",
    *,
    hand: Hand = Hand.RIGHT,
    name: str = "",
    extent: Extent = Extent.BAR,
) -> Work:
    """The work with a line open, the caret at its end."""
    fresh = kind in _FRESH and bool(text)
    entry = Entry(kind, text, len(text), work.cursor, hand, name, extent, fresh)
    pane = _PANES.get(kind, work.pane)
    return replace(work, entry=entry, chooser=None, trial=None, notice=Notice(), pane=pane)


def begin_chord(work: Work, text: str = "") -> Work:
    """A line over the chord under the cursor, empty or with its first letter."""
    return begin(work, EntryKind.CHORD, text)


def edit_chord(work: Work) -> Work:
    """A line with the chord under the cursor as it was typed."""
    return begin(work, EntryKind.CHORD, work.slot.typed)


def edit_bar(work: Work) -> Work:
    """A line with the whole bar as it was typed."""
    return begin(work, EntryKind.BAR, bar_text(work.song, work.cursor.bar))


def edit_tokens(work: Work, hand: Hand) -> Work:
    """A line with the bar's figure tokens for one hand."""
    from engine.figures import find_figure

    written = getattr(work.bar.settings, hand.value) or ""
    try:
        text = find_figure(written, hand, work.bar.meter).text
    except InputError:
        text = written
    return begin(replace(work, hand=hand), EntryKind.TOKENS, text, hand=hand)


def edit_melody(work: Work) -> Work:
    """A line with the melody of the bar, or of the bars selected, as ABC note text."""
    first, last = work.selection
    try:
        text = melody_text(work.song, first, last)
    except InputError as error:
        return refuse(work, f"{error.message}; {error.cure}")
    opened = begin(work, EntryKind.MELODY, text)
    assert opened.entry is not None
    return replace(opened, entry=replace(opened.entry, at=Cursor(first, 0), last=last))


def edit_setting(work: Work, name: str, extent: Extent) -> Work:
    """A line with a setting as it stands; beside the song's key, what its chords say of it."""
    text = steering.setting_text(work, name, extent)
    opened = begin(work, EntryKind.SETTING, text, name=name, extent=extent)
    return say(opened, _by_chords(work)) if (name, extent) == ("key", Extent.SONG) else opened


def _by_chords(work: Work) -> str:
    """`By its chords: A minor 83 %, or C major 15 %`; empty where there are none."""
    from engine.harmony import find_key  # not before the first picture

    found = find_key(work.song)
    if not found.others:
        return ""
    rival, share = found.others[0]
    return (
        f"By its chords: {found.key.symbol} {found.confidence:.0%}, or {rival.symbol} {share:.0%}"
    )


def _before(work: Work, entry: Entry) -> Bar | None:
    return work.song.bars[entry.at.bar - 2] if entry.at.bar > 1 else None


def fault(work: Work) -> Fault | None:
    """What is wrong with the line so far, where that can be known while it is typed."""
    entry = work.entry
    if entry is None or entry.at.bar > len(work.song.bars):
        return None
    meter = work.song.bars[entry.at.bar - 1].meter
    if entry.kind is EntryKind.CHORD:
        return chord_fault(entry.text, meter, _before(work, entry))
    if entry.kind is EntryKind.BAR:
        return bar_fault(entry.text, meter, _before(work, entry))
    if entry.kind is EntryKind.TOKENS:
        return tokens_fault(entry.text, entry.hand, meter)
    if entry.kind is EntryKind.MELODY:
        found = melody_tried(work.song, entry.at.bar, entry.last, entry.text)
        return found if isinstance(found, Fault) else None
    return None


def grown(work: Work, entry: Entry) -> Work:
    """The work after a key in the line; a figure or melody is tried out as it is typed."""
    if entry.kind is EntryKind.CHORD and entry.text[:1] in tuple(_ROOTS):
        entry = replace(entry, text=entry.text[0].upper() + entry.text[1:])
    typed = replace(work, entry=entry, notice=Notice())
    try:
        song = _tried(work, entry)
    except InputError:
        return typed
    if song is None:
        return typed  # what could be read last is heard on
    return replace(typed, trial=None if song == work.song or fault(typed) else song)


def _tried(work: Work, entry: Entry) -> Song | None:
    """The song as the line would have it, None where it cannot be read. Raises an InputError."""
    if entry.kind is EntryKind.TOKENS:
        value = entry.text.strip() or None
        return steering.with_setting(work, work.song, Extent.BAR, entry.hand.value, value)
    if entry.kind is EntryKind.MELODY:
        found = melody_tried(work.song, entry.at.bar, entry.last, entry.text)
        return None if isinstance(found, Fault) else found
    return work.song


def cancel(work: Work) -> Work:
    """Close the line; what was typed is shown once more, so that it is not lost unseen."""
    entry = work.entry
    text = f"Not taken: {entry.text}" if entry and entry.text.strip() else ""
    return replace(work, entry=None, trial=None, notice=Notice(text))


def take_better(work: Work) -> Work:
    """The nearest symbol in place of the misspelt one."""
    entry, wrong = work.entry, fault(work)
    if entry is None or wrong is None or not wrong.better:
        return work
    start, end = 0, len(entry.text)
    if len(entry.text.split()) > 1:
        word = next((m for m in re.finditer(r"\S+", entry.text) if m.end() > wrong.span[0]), None)
        start, end = word.span() if word else (start, end)
    text = entry.text[:start] + wrong.better + entry.text[end:]
    return grown(work, replace(entry, text=text, caret=start + len(wrong.better)))


def accept(work: Work) -> Outcome:
    """Take the line. Where it cannot be taken, it stays open with the reason under it."""
    entry = work.entry
    if entry is None:
        return Outcome(work)
    if not entry.text.strip() and entry.kind not in _EMPTY:
        return Outcome(cancel(work))
    try:
        return _taken(replace(work, trial=None), entry)
    except InputError as error:
        cure = f"; {error.cure}" if error.cure else ""
        return Outcome(replace(work, notice=Notice(f"{error.message}{cure}", Tone.REFUSAL)))


def _taken(work: Work, entry: Entry) -> Outcome:
    closed = replace(work, entry=None)
    text = entry.text.strip()
    match entry.kind:
        case EntryKind.CHORD | EntryKind.BAR | EntryKind.TOKENS | EntryKind.MELODY:
            return Outcome(_written(closed, entry, text))
        case EntryKind.TEMPO:
            return Outcome(practice.set_tempo(closed, practice.typed_tempo(work, text)))
        case EntryKind.LOOP:
            return Outcome(practice.take_loop(closed, text))
        case EntryKind.DIAL:
            return _dial(closed, entry.name, text)
        case EntryKind.TRANSPOSE:
            return Outcome(_transposed(closed, text))
        case EntryKind.GO_TO:
            return Outcome(moves.to(closed, Cursor(edits.known_bar(work, text), 0)))
        case EntryKind.SAVE_AS:
            return Outcome(closed, (Save(text),))
        case EntryKind.RENDER:
            return asked_for(closed, text)
        case EntryKind.FIGURE_NAME:
            return Outcome(closed, (KeepFigure(text, entry.hand, entry.at.bar),))
        case EntryKind.SETTING:
            return Outcome(steering.typed_setting(closed, entry.name, entry.extent, text))


def _written(work: Work, entry: Entry, text: str) -> Work:
    """What is written in the song itself taken."""
    match entry.kind:
        case EntryKind.TOKENS:
            return _tokens(work, entry, text)
        case EntryKind.MELODY:
            return _melody(work, entry, text)
        case EntryKind.BAR:
            return edits.write_bar(work, entry.at.bar, text)
    if len(text.split()) > 1 or text == "%":
        return _on(edits.write_bar(work, entry.at.bar, text), whole_bar=True)
    return _on(edits.write_symbol(work, entry.at, text))


def _dial(work: Work, name: str, text: str) -> Outcome:
    which = dial(name)
    assert which.take is not None
    result = which.take(work, text)
    outcome = result if isinstance(result, Outcome) else Outcome(result)
    if outcome.work.notice.text:
        return outcome
    return Outcome(
        say(outcome.work, f"{which.title}: {which.shown(outcome.work)}"), outcome.effects
    )


def edit_dial(work: Work, which: Dial) -> Work:
    """A line with a dial's value as it stands."""
    assert which.text is not None
    return begin(work, EntryKind.DIAL, which.text(work), name=which.name)


def _on(work: Work, *, whole_bar: bool = False) -> Work:
    """The cursor on to the next chord, the notice of the edit kept."""
    last = work.cursor.bar == len(work.song.bars)
    if last and (whole_bar or work.cursor.slot + 1 >= len(work.bar.slots)):
        return work
    moved = moves.to(work, Cursor(work.cursor.bar + 1, 0)) if whole_bar else moves.next_slot(work)
    return replace(moved, notice=work.notice, changed=work.changed)


def _tokens(work: Work, entry: Entry, text: str) -> Work:
    if not text:
        song = steering.with_setting(work, work.song, Extent.BAR, entry.hand.value, None)
        said = f"Bar {entry.at.bar}: {entry.hand.value} hand as in its section"
        return change(work, song, said)
    from engine.figures import find_figure

    find_figure(text, entry.hand, work.song.bars[entry.at.bar - 1].meter)
    return steering.set_figure(work, entry.hand, Extent.BAR, text)


def _melody(work: Work, entry: Entry, text: str) -> Work:
    """The melody taken, the cursor on to the bar after it."""
    song = set_melody(work.song, entry.at.bar, entry.last, text)
    one = entry.at.bar == entry.last
    said = f"Melody of bar{'' if one else 's'} {shown((entry.at.bar, entry.last))}"
    after = change(replace(work, anchor=None), song, said if text else f"{said} taken out")
    follows = min(entry.last + 1, len(song.bars))
    moved = moves.to(after, Cursor(follows, 0))
    return replace(moved, notice=after.notice, changed=after.changed)


def _transposed(work: Work, text: str) -> Work:
    """The song in a key or an interval away; for a range, the keys that suit that voice."""
    if re.fullmatch(r"\s*[A-Ga-g][#b]*\d\s*[-–]\s*\S+\s*", text):
        chooser = Chooser(ListKind.VOICE, voice=read_range(text))
        return replace(work, chooser=chooser)
    return edits.move_key(work, text)
