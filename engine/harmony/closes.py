"""How sections close: on the dominant, on the tonic after it, or on the tonic after IV."""

from __future__ import annotations

from collections.abc import Sequence

from engine.harmony.spans import gives_way
from engine.harmony.value import ChordReading
from engine.harmony.words import Category, Function

_PLAIN = frozenset({Category.DIATONIC, Category.BORROWED})


def with_closes(
    readings: Sequence[ChordReading], sections: Sequence[int]
) -> tuple[ChordReading, ...]:
    """The readings, the last of each section told as its close; `sections` number each's."""
    found = list(readings)
    for n, one in enumerate(found):
        last = n + 1 == len(found) or sections[n + 1] != sections[n]
        close = _close(found, n, sections) if last and gives_way(one) else ""
        if close:
            found[n] = one._replace(span=f"the section ends on it, {close}")
    return tuple(found)


def _close(readings: Sequence[ChordReading], n: int, sections: Sequence[int]) -> str:
    """`a full close`; empty where a section just stops."""
    one = readings[n]
    if one.category not in _PLAIN or one.spelled.bass is not None or one.target is not None:
        return ""
    above = one.spelled.root.fifths - one.key.tonic.fifths
    if above == 1:
        return "a half close" if one.resolves_to else ""
    if above or one.function is not Function.TONIC:
        return ""
    inside = (at for at in reversed(range(n)) if sections[at] == sections[n])
    root = one.spelled.root.pc
    before = next((readings[at] for at in inside if readings[at].spelled.root.pc != root), None)
    if before is None or before.key != one.key or before.spelled.bass is not None:
        return ""
    return _to_tonic(before)


def _to_tonic(before: ChordReading) -> str:
    """The close of a tonic after a chord in root position."""
    above = before.spelled.root.fifths - before.key.tonic.fifths
    plain = before.category in (*_PLAIN, Category.SUSPENDED)
    if above == 1 and plain and before.resolves:
        return "a full close"
    return "a plagal close" if above == -1 and plain else ""
