"""The lines of the chord pane about a reading: whole sentences where there is room, else terms."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from engine.chord import Member
from engine.pitch import Note

if TYPE_CHECKING:
    from engine.harmony import ChordReading, Move

Line = tuple[str, str]  # a label, empty for a sentence, and what it labels


def about(reading: ChordReading, after: ChordReading | None, *, roomy: bool) -> list[Line]:
    """Labelled lines, the most needed first; `after` is the next chord's reading."""
    lines = [("", reading.explanation if roomy else reading.why)]
    if reading.resolves_to:
        kept = {True: ": it does", False: ": it does not", None: ""}[reading.resolves]
        lines.append(("goes to", signed_symbol(reading.resolves_to) + kept))
    if after is not None and after.chord != reading.chord:
        found = reading.moves(after)
        lines.append(("moves", told(found) if roomy else " ".join(map(arrow, found))))
    lines.append(("scale", named(reading.scale)))
    rubs = f"  rubs {named(reading.rubs)}" if reading.rubs else ""
    added = (named(reading.tensions) or "–") + rubs
    lines.append(("may add" if roomy else "add", added))
    lines.append(("also", "  ".join(signed_symbol(name) for name in reading.also)))
    lines.append(("better", signed_symbol(reading.better_spelling)))
    return [line for line in lines if line[1]]


def shorter(reading: ChordReading) -> list[str]:
    """The sentences with less and less in them, for panes that don't hold the explanation.

    Where the chord goes and its other names stand in lines of their own.
    """
    span = f" {reading.span[0].upper()}{reading.span[1:]}." if reading.span else ""
    return [reading.here + span, reading.here, reading.why]


def told(found: Sequence[Move]) -> str:
    """Where each note goes: `G stays  B→C  D→C  F→E`, those that stay first."""
    stay = [move.note.symbol for move in found if move.semitones == 0]
    stays = [f"{' '.join(stay)} stay{'s' if len(stay) == 1 else ''}"] if stay else []
    return "  ".join([*stays, *(arrow(move) for move in found if move.semitones)])


def arrow(move: Move) -> str:
    return f"{move.note.symbol}→{move.to.symbol}"


def named(notes: Sequence[Note]) -> str:
    return " ".join(note.symbol for note in notes)


def signed_symbol(symbol: str) -> str:
    """A symbol with ♯ and ♭ for its notes and degrees."""
    head, rest = symbol[:1], symbol[1:]
    return head + rest.replace("#", "♯").replace("b", "♭")


def degree_names(reading: ChordReading) -> dict[int, str]:
    """Pitch class to degree above the root as spelled here: `1`, `♭7`, `♯11`.

    The seventh of a German sixth is its augmented sixth; a foreign bass has none.
    """
    root = reading.spelled.root
    found: dict[int, str] = {}
    for member, note in reading.spelled.member_notes:
        here = next((one for one in reading.notes if one.pc == note.pc), note)
        if here != note:
            interval = root.to(here)
            natural = Member(interval.steps + 1).interval.semitones
            member = Member(interval.steps + 1, interval.semitones - natural)
        found[note.pc] = member.name.replace("#", "♯").replace("b", "♭")
    return found
