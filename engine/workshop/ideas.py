"""What is asked of the reharmoniser while the screen goes on, and what it answers."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from engine.errors import AlbertiError
from engine.song import Song

if TYPE_CHECKING:
    from engine.reharm import SpanSuggestion, Suggestion

#: How many chords a list offers for one place, and ways for a stretch of bars.
CHORDS, WAYS = 12, 6
#: Steps of the dial from near to far.
DIAL_STEP = 0.25


class About(StrEnum):
    """What is to be found."""

    CHORD = "this chord"
    BAR = "the whole bar"
    BARS = "these bars"
    AGAINST = "what speaks against it"


@dataclass(frozen=True, slots=True)
class Ask:
    """A question: other chords for a slot, a bar or bars up to `last`; or what speaks against one.

    `dial` is how far from the present harmony to go, 0 near to 1 far; `symbol`
    is the chord that is weighed.
    """

    song: Song = field(repr=False)
    about: About
    bar: int
    slot: int = 0
    last: int = 0
    dial: float = 0.5
    symbol: str = ""


@dataclass(frozen=True, slots=True)
class Ideas:
    """The answer: what was `found`, what speaks `against`, or why there is neither."""

    ask: Ask
    found: tuple[Suggestion | SpanSuggestion, ...] = ()
    against: tuple[str, ...] = ()
    trouble: str = ""

    @property
    def verdict(self) -> str:
        """One line of what speaks against the chord that was weighed."""
        from engine.chord import parse_chord

        symbol = parse_chord(self.ask.symbol).pretty
        if not self.against:
            return f"Nothing speaks against {symbol} in bar {self.ask.bar}"
        return f"Against {symbol}: {'; '.join(self.against)}"


def answer(ask: Ask) -> Ideas:
    """What the reharmoniser finds; it loads when first asked, so ask where waiting is no harm."""
    from engine.reharm import suggest, suggest_span
    from engine.workshop.derive import reading_of

    try:
        reading = reading_of(ask.song)
        if ask.about is About.AGAINST:
            return Ideas(ask, against=_against(ask))
        if ask.about is About.BARS:
            ways = suggest_span(ask.song, reading, ask.bar, ask.last, WAYS, dial=ask.dial)
            return Ideas(ask, ways)
        slot = ask.slot if ask.about is About.CHORD else None
        chords = suggest(ask.song, reading, ask.bar, slot, count=CHORDS, dial=ask.dial)
        return Ideas(ask, chords)
    except AlbertiError as error:
        return Ideas(ask, trouble=f"{error.message}; {error.cure}" if error.cure else error.message)


def _against(ask: Ask) -> tuple[str, ...]:
    from engine.chord import parse_chord
    from engine.reharm import why_not
    from engine.workshop.derive import reading_of

    alone = len(ask.song.bars[ask.bar - 1].slots) == 1
    slot = None if alone else ask.slot
    return why_not(ask.song, reading_of(ask.song), ask.bar, slot, parse_chord(ask.symbol))
