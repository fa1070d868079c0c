"""Where one key gives way to the next: at a section's beginning, or with the chord that leads on.

The path of keys changes where its costs do, which may be some chords beside the
place where a player hears the change.
"""

from __future__ import annotations

from collections.abc import Sequence

from engine.chord import Chord
from engine.harmony.context import relative
from engine.harmony.ways import candidates
from engine.harmony.words import Category
from engine.key import Key

_AFTER = 4  # chords before a section's beginning that may still close in the old key
_BEFORE = 2  # chords after it that may already begin the new one


def own_numeral(chord: Chord, key: Key) -> str | None:
    """The numeral of a chord that is a key's own, else None."""
    reading = candidates(relative(chord, key.tonic), key.is_minor)[0]
    return reading.roman if reading.category is Category.DIATONIC else None


def settled(chords: Sequence[Chord], keys: Sequence[Key], sections: Sequence[int]) -> list[Key]:
    """The key of each chord, each change moved to its natural place; `sections` number theirs."""
    found = list(keys)
    for n in range(1, len(keys)):
        old, new = keys[n - 1], keys[n]
        if old == new:
            continue
        closes = _closing(chords, keys, sections, n)
        begins = _beginning(chords, found, sections, n)
        if closes:
            found[n:closes] = [old] * (closes - n)
        elif begins:
            found[begins:n] = [new] * (n - begins)
        elif _leads(chords[n - 1], chords[n]) and own_numeral(chords[n - 1], old) is None:
            found[n - 1] = new
    return found


def _closing(
    chords: Sequence[Chord], keys: Sequence[Key], sections: Sequence[int], n: int
) -> int | None:
    """The section's beginning shortly after `n`, before which the old key closes on I or V."""
    old, new = keys[n - 1], keys[n]
    for at in range(n, min(n + _AFTER + 1, len(keys))):
        if sections[at] != sections[at - 1]:
            root = (chords[at - 1].root.pc - old.tonic.pc) % 12
            return at if at > n and root in (0, 7) else None
        if keys[at] != new or own_numeral(chords[at], old) is None:
            return None
    return None


def _beginning(
    chords: Sequence[Chord], found: Sequence[Key], sections: Sequence[int], n: int
) -> int | None:
    """The section's beginning shortly before `n`, if the new key has all chords from there."""
    old, new = found[n - 1], found[n]
    for at in range(n, max(n - _BEFORE - 1, 0), -1):
        if at < n and (found[at] != old or own_numeral(chords[at], new) is None):
            return None
        if sections[at] != sections[at - 1]:
            return at if at < n and chords[at].root.pc != old.tonic.pc else None
    return None


def _leads(chord: Chord, after: Chord) -> bool:
    """Whether a chord is the dominant of the next, or its leading-tone chord."""
    up = (after.root.pc - chord.root.pc) % 12
    dominant = chord.alter(3) == 0 and chord.alter(7) in (None, -1)
    diminished = chord.alter(3) == chord.alter(5) == -1
    return (up == 5 and dominant) or (up == 1 and diminished)
