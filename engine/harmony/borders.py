"""Where one key gives way to the next: at a section's beginning, or with the chord that leads on.

The path of keys changes where its costs do, which may be some chords beside the
place where a player hears the change.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, pairwise

from engine.chord import Chord
from engine.harmony.ways import ways_to_read
from engine.harmony.words import Category
from engine.key import Key

_AFTER = 8  # chords before a section's beginning that may still close in the old key
_BEFORE = 2  # chords after it that may already begin the new one
_ROOTS = 3  # roots that a section must have to be in a key of its own


def own_numeral(chord: Chord, key: Key) -> str | None:
    """The numeral of a chord that is a key's own, else None."""
    reading = ways_to_read(chord, key).readings[0]
    return reading.roman if reading.category is Category.DIATONIC else None


def settled(
    chords: Sequence[Chord], keys: Sequence[Key], homes: Sequence[Key], sections: Sequence[int]
) -> list[Key]:
    """The key of each chord, each change in its natural place.

    `keys` are those of the path, `homes` the written ones; `sections` number each chord's.
    """
    turned = list(keys)
    if len(set(sections)) > 1:
        for _, group in groupby(range(len(keys)), key=lambda n: sections[n]):
            places = list(group)
            if _turns(chords, keys, homes[places[0]], places):
                turned[places[0] : places[-1] + 1] = [homes[places[0]].parallel] * len(places)
    found = list(turned)
    for n in range(1, len(turned)):
        old, new = turned[n - 1], turned[n]
        if old == new:
            continue
        closes = _closing(chords, turned, sections, n)
        begins = _beginning(chords, found, sections, n)
        if closes:
            found[n:closes] = [old] * (closes - n)
        elif begins:
            found[begins:n] = [new] * (n - begins)
        else:
            at = _led_into(chords, found, sections, n)
            found[at:n] = [new] * (n - at)
    return found


def _turns(chords: Sequence[Chord], keys: Sequence[Key], home: Key, places: Sequence[int]) -> bool:
    """Whether a section begins on the parallel key's tonic, and has its chords alone.

    Not where it is heard in another key and closes there, V to I.
    """
    own = [chords[n] for n in places]
    parallel = home.parallel
    if home.mode not in ("major", "minor") or len({chord.root.pc for chord in own}) < _ROOTS:
        return False
    if own[0].root.pc != home.tonic.pc or own[0].alter(3) != (-1 if parallel.is_minor else 0):
        return False
    if any(own_numeral(chord, parallel) is None for chord in own):
        return False
    others = {keys[n].tonic.pc for n in places} - {home.tonic.pc}
    return not any(
        after.root.pc in others and (chord.root.pc - after.root.pc) % 12 == 7
        for chord, after in pairwise(own)
    )


def _closing(
    chords: Sequence[Chord], keys: Sequence[Key], sections: Sequence[int], n: int
) -> int | None:
    """The section's beginning shortly after `n`, before which the old key closes on I or V."""
    old, new, mine = keys[n - 1], keys[n], False
    for at in range(n, min(n + _AFTER + 1, len(keys))):
        if sections[at] != sections[at - 1]:
            root = (chords[at - 1].root.pc - old.tonic.pc) % 12
            return at if at > n and mine and root in (0, 7) else None
        mine = own_numeral(chords[at], old) is not None
        if keys[at] != new or (not mine and own_numeral(chords[at], new) is not None):
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


def pivot_at(
    chords: Sequence[Chord], old: Key, new: Key, keys: Sequence[Key], at: int
) -> int | None:
    """The place of the pivot chord where `new` begins at `at`: the last that both keys have.

    The stretch in the new key may begin with chords that the old one has too, before its
    dominant or its tonic comes. None where the new tonic comes at once: it is then set beside
    the old key, and no chord turns round.
    """
    last, confirming = at - 1, (new.tonic.pc, (new.tonic.pc + 7) % 12)
    for n in range(at, len(chords)):
        if keys[n] != new or chords[n].root.pc in confirming or not own_numeral(chords[n], old):
            break
        last = n
    if last < 0 or not all(_is_plainly(chords[last], key) for key in (old, new)):
        return None
    after = chords[last + 1] if last + 1 < len(chords) else None
    beside = after is not None and after.root.pc == new.tonic.pc and after.bass is None
    return None if beside and (chords[last].root.pc - new.tonic.pc) % 12 != 7 else last


def _is_plainly(chord: Chord, key: Key) -> bool:
    """Whether a chord is made of the key's scale as its signature has it, and wants nothing."""
    dominant = chord.alter(3) == 0 and chord.alter(7) == -1
    scale = {note.pc for note in key.scale}
    inside = set(chord.pitch_classes) <= scale
    return inside and not dominant and own_numeral(chord, key) is not None


def _opens(chord: Chord, after: Chord, key: Key) -> bool:
    """Whether a chord is an augmented sixth that opens to the dominant of the key, or its 6/4."""
    fifth = (key.tonic.pc + 7) % 12
    seventh = chord.bass is None and chord.alter(3) == 0 and chord.alter(7) == -1
    return seventh and chord.root.pc == (fifth + 1) % 12 and after.bass_note.pc == fifth


def _led_into(
    chords: Sequence[Chord], found: Sequence[Key], sections: Sequence[int], n: int
) -> int:
    """Where what leads into the key that begins at `n` begins.

    That is a full cadence with which the section before closes in it, and the chords before
    that the old key has not, each leading to the next.
    """
    old, new, at = found[n - 1], found[n], n
    if sections[n] != sections[n - 1] and _closes_in(new, chords[max(0, n - 2) : n]):
        at = n - 2
        above = (chords[at - 1].root.pc - new.tonic.pc) % 12 if at else 0
        if above in (2, 5) and own_numeral(chords[at - 1], new) is not None:
            at -= 1
    if any(key != old for key in found[at:n]):
        return n
    while at > 1 and found[at - 1] == old:
        leads = _leads(chords[at - 1], chords[at]) or _opens(chords[at - 1], chords[at], new)
        if not leads or own_numeral(chords[at - 1], old) is not None:
            break
        at -= 1
    return at


def _closes_in(key: Key, last: Sequence[Chord]) -> bool:
    """Whether the last two chords are a key's dominant and its tonic."""
    if len(last) < 2 or last[1].root.pc != key.tonic.pc or not _leads(*last):
        return False
    return (last[1].alter(3) == -1) == key.is_minor


def _leads(chord: Chord, after: Chord) -> bool:
    """Whether a chord is the dominant of the next, or its leading-tone chord."""
    up = (after.root.pc - chord.root.pc) % 12
    dominant = chord.alter(3) == 0 and chord.alter(7) in (None, -1)
    diminished = chord.alter(3) == chord.alter(5) == -1
    return (up == 5 and dominant) or (up == 1 and diminished)
