"""The lines of the chord pane about a reading: terms, where there is room in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from engine.chord import Member
from engine.pitch import Note
from tui.draw import wrapped

if TYPE_CHECKING:
    from engine.harmony import ChordReading, Move

Line = tuple[str, str]  # a label, and what it labels


_NAMES = ("also", "better")


def about(reading: ChordReading, after: ChordReading | None, *, roomy: bool) -> list[Line]:
    """Labelled lines, the most needed first; `after` is the next chord's reading."""
    lines: list[Line] = []
    if after is not None and after.chord != reading.chord:
        place = reading.notes.index
        found = sorted(reading.moves(after), key=lambda move: place(move.note))
        lines.append(told(found, "  " if roomy else " "))
    if not roomy:
        return [*lines, ("scale", marked(reading))]
    lines.append(("scale", named(reading.scale)))
    rubs = f" · rubs {named(reading.rubs)}" if reading.rubs else ""
    lines.append(("may add", (named(reading.tensions) or "–") + rubs))
    lines.append(("also", "  ".join(signed_symbol(name) for name in reading.also)))
    lines.append(("better", signed_symbol(reading.better_spelling)))
    return [line for line in lines if line[1]]


def laid_out(
    reading: ChordReading, lines: Sequence[Line], width: int, height: int, *, roomy: bool
) -> tuple[list[str], list[Line]]:
    """The rows of the sentences, and those of the labelled lines, for so many rows together.

    The sentences are as full as can be. Where they tell the other names, those need no line;
    where there is room for few rows, the labelled lines that are needed least give way.
    """
    names = [line for line in lines if line[0] in _NAMES]
    kept = [line for line in lines if line[0] not in _NAMES]
    if names:
        rows = _rows(kept, width, roomy=roomy)
        told = " ".join(_sentences(reading, width, height - len(rows)))
        kept += [line for line in names if not _tells(told, line[1])]
    while True:
        rows = _rows(kept, width, roomy=roomy)
        said = _sentences(reading, width, height - len(rows))
        if said or not kept:
            return said, rows
        kept = kept[:-1]


def _tells(told: str, names: str) -> bool:
    """Whether sentences tell the names of a line: two at most, as they never tell more."""
    return all(name in told for name in names.split()[:2])


def _sentences(reading: ChordReading, width: int, rows: int) -> list[str]:
    """The fullest sentences of at most so many rows; none where even the shortest is longer."""

    def fits(text: str) -> bool:
        return len(wrapped(text, width, rows + 1)) <= rows

    found = wrapped(reading.account(fits), width, rows + 1)
    return found if len(found) <= rows else []


def _rows(lines: Sequence[Line], width: int, *, roomy: bool) -> list[Line]:
    """The lines broken into rows: a label, or as many blanks, and a text."""
    rows: list[Line] = []
    for label, text in lines:
        indent = 8 if roomy else len(label) + 1
        if label == "scale" and len(text) > width - indent:
            text = text.replace(" +", "+")
        for row in wrapped(text, width - indent, 99):
            rows.append((label.ljust(indent), row))
            label = ""
    return rows


def told(found: Sequence[Move], gap: str) -> Line:
    """Where each note goes: `keeps`, `G · B,D→C  F→E`; `moves`, `F→E♭  A→G`.

    Those that go to one note are told together, and those that one note goes to.
    """
    stay = [move.note for move in found if move.semitones == 0]
    goals: dict[Note, list[str]] = {}
    for move in found:
        if move.semitones:
            goals.setdefault(move.to, []).append(move.note.symbol)
    ways: dict[str, list[str]] = {}
    for goal, notes in goals.items():
        ways.setdefault(",".join(notes), []).append(goal.symbol)
    gone = [f"{notes}→{','.join(to)}" for notes, to in ways.items()]
    if not stay:
        return "moves", gap.join(gone)
    return "keeps", named(stay) + (f" · {gap.join(gone)}" if gone else "")


def marked(reading: ChordReading) -> str:
    """The scale, with a sign at what may be added and what rubs: `C +D E F! G +A +B`."""
    added, rubs = reading.tensions, reading.rubs
    return " ".join(
        f"{'+' if note in added else ''}{note.symbol}{'!' if note in rubs else ''}"
        for note in reading.scale
    )


def named(notes: Sequence[Note]) -> str:
    return " ".join(note.symbol for note in notes)


def signed_symbol(symbol: str) -> str:
    """A symbol with ♯ and ♭ for its notes and degrees."""
    head, rest = symbol[:1], symbol[1:]
    return head + rest.replace("#", "♯").replace("b", "♭")


def signed_degree(member: Member) -> str:
    return member.name.replace("#", "♯").replace("b", "♭")


def degree_names(reading: ChordReading) -> dict[int, str]:
    """Pitch class to degree above the root as spelled here: `1`, `♭7`, `♯11`.

    The seventh of a German sixth is its augmented sixth; a foreign bass has none.
    """
    from engine.harmony import bass_member

    root = reading.spelled.root
    found: dict[int, str] = {}
    for member, note in reading.spelled.member_notes:
        here = next((one for one in reading.notes if one.pc == note.pc), note)
        if here != note:
            interval = root.to(here)
            natural = Member(interval.steps + 1).interval.semitones
            member = Member(interval.steps + 1, interval.semitones - natural)
        found[note.pc] = signed_degree(member)
    lowest = bass_member(reading.spelled)
    if lowest is not None:  # a triad's seventh in the bass
        found.setdefault(reading.spelled.bass_note.pc, signed_degree(lowest))
    return found
