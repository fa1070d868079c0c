"""What has just changed: the bars whose notes differ between two parts."""

from __future__ import annotations

from collections.abc import Iterable

from engine.part import PartNote
from engine.workshop import Stages


def differing_notes(before: Stages, after: Stages) -> frozenset[int]:
    """Bars whose notes another part has, where both parts are there."""
    if before.part is None or after.part is None or before.part is after.part:
        return frozenset()
    old, new = notes_by_bar(before.part.notes), notes_by_bar(after.part.notes)
    starts = {bar.number: bar.start for bar in after.song.bars}
    return frozenset(number for number in starts if old.get(number) != new.get(number))


def notes_by_bar(notes: Iterable[PartNote]) -> dict[int, list[tuple[object, ...]]]:
    """What is struck in each bar: hand, pitch, onset, role."""
    found: dict[int, list[tuple[object, ...]]] = {}
    for note in notes:
        found.setdefault(note.bar, []).append((note.hand, note.pitch, note.onset, note.role))
    return found
