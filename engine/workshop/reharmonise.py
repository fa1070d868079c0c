"""Other harmonies from where the hand stands: lists of them, verdicts, moves of the whole song."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from engine.chord import parse_chord
from engine.errors import InputError
from engine.song import Song
from engine.workshop.derive import reading_of
from engine.workshop.edits import attempt
from engine.workshop.effects import Find
from engine.workshop.ideas import DIAL_STEP, About, Ask, Ideas
from engine.workshop.work import Chooser, Entry, EntryKind, ListKind, Outcome, Work, refuse, say

if TYPE_CHECKING:
    from engine.reharm import SpanSuggestion, Suggestion

#: The moves of the whole song: the reharmoniser's name, what it does.
MOVES = (
    ("simpler", "The whole song simpler: plain triads for first players"),
    ("richer", "The whole song richer: sevenths, sixths, ninths"),
    ("darker", "The whole song darker: chords of the parallel minor"),
    ("other-mode", "The whole song in the other mode, major or minor"),
    ("new-bass", "The whole song over a new bass line"),
)


def open_chords(work: Work, about: About | None = None) -> Outcome:
    """The list of other chords: for the selected bars, else the chord or its whole bar."""
    if about is None:
        alone = len(work.bar.slots) == 1
        about = About.BARS if work.anchor is not None else About.BAR if alone else About.CHORD
    first, last = work.selection
    bar = first if about is About.BARS else work.cursor.bar
    ask = Ask(work.song, about, bar, work.cursor.slot, last, work.nearness)
    chooser = replace(work.chooser or Chooser(ListKind.CHORDS), ask=ask, index=0)
    return Outcome(replace(work, chooser=chooser, trial=None), (Find(ask),))


def turn_dial(work: Work, step: int) -> Outcome:
    """The list anew, nearer to the present harmony or further from it."""
    chooser = work.chooser
    assert chooser is not None
    assert chooser.ask is not None
    wanted = min(1.0, max(0.0, work.nearness + step * DIAL_STEP))
    if wanted == work.nearness:
        end = "far" if step > 0 else "near"
        return Outcome(refuse(work, f"This is as {end} as it goes"))
    ask = replace(chooser.ask, dial=wanted)
    turned = replace(work, nearness=wanted, trial=None, chooser=replace(chooser, ask=ask, index=0))
    return Outcome(turned, (Find(ask),))


def take_ideas(work: Work, ideas: Ideas) -> Work:
    """The work with what was found, where it is still wanted."""
    ask, chooser, entry = ideas.ask, work.chooser, work.entry
    if ask.about is not About.AGAINST:
        wanted = chooser is not None and chooser.ask == ask
        return replace(work, ideas=ideas) if wanted else work
    if entry is not None:
        return replace(work, weighed=ideas) if weighing(work, entry) == ask else work
    if ask.song is not work.song or (work.cursor.bar, work.cursor.slot) != (ask.bar, ask.slot):
        return work
    return say(replace(work, weighed=ideas), ideas.trouble or ideas.verdict)


def weighing(work: Work, entry: Entry | None) -> Ask | None:
    """What to ask of the chord being typed, None where none is."""
    if entry is None or entry.kind is not EntryKind.CHORD:
        return None
    return _weigh(work.song, entry.at.bar, entry.at.slot, entry.text.strip())


def _weigh(song: Song, bar: int, slot: int, symbol: str) -> Ask | None:
    try:
        parse_chord(symbol)
    except InputError:
        return None
    return Ask(song, About.AGAINST, bar, slot, symbol=symbol)


def why_not(work: Work) -> Outcome:
    """What speaks against the chord under the cursor."""
    chord = work.slot.chord
    if chord is None:
        return Outcome(refuse(work, "No chord stands here"))
    ask = _weigh(work.song, work.cursor.bar, work.cursor.slot, chord.symbol)
    return Outcome(work, (Find(ask),) if ask else ())


def with_idea(song: Song, idea: Suggestion | SpanSuggestion) -> Song:
    """The song with a suggestion in its place. Raises an InputError."""
    from engine.reharm import SpanSuggestion, apply, apply_span

    return apply_span(song, idea) if isinstance(idea, SpanSuggestion) else apply(song, idea)


def with_idea_everywhere(song: Song, idea: Suggestion) -> Song:
    """The song with a suggestion in every place like its own. Raises an InputError."""
    from engine.reharm import apply_like

    return apply_like(song, idea)


@lru_cache(maxsize=32)
def like_count(song: Song, idea: Suggestion) -> int:
    """How many places are like a suggestion's own, that one included."""
    from engine.reharm import like_places

    return len(like_places(song, idea))


def moved(song: Song, name: str) -> Song:
    """The whole song after one of `MOVES`. Raises an InputError where nothing changes."""
    from engine import reharm

    move = next(each for each in reharm.MOVES if each.name == name)
    return move.apply(song, reading_of(song))


def move(name: str) -> Callable[[Work], Work]:
    """The command for one of `MOVES`."""
    label = f"Whole song: {name.replace('-', ' ')}"
    return lambda work: attempt(work, lambda song: moved(song, name), label)
