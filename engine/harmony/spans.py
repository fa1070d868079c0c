"""What runs through several chords: pedal points, line clichés, six-fours that link, a close.

They leave the numerals alone; they tell why a chord stands where it does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from operator import eq

from engine.harmony import words
from engine.harmony.value import ChordReading
from engine.harmony.words import Category
from engine.pitch import Note

_LEAST = 3  # chords, to make a line
_FIFTHS = 5  # roots, to make a chain of falling fifths
_CHAIN = "the roots fall by fifths"


def mark_spans(readings: Sequence[ChordReading]) -> tuple[ChordReading, ...]:
    """The readings, with linking six-fours, pedal points and line clichés marked."""
    found = list(readings)
    basses = [reading.chord.bass_note.pc for reading in found]
    roots = [reading.chord.root.pc for reading in found]
    # Semitones from bass to bass, the shorter way.
    steps = [(after - before + 6) % 12 - 6 for before, after in pairwise(basses)]
    for n in range(1, len(found) - 1):
        into, out = steps[n - 1], steps[n]
        found[n] = _six_four(found[n - 1], found[n], into, out)
        if into == out and abs(into) == 1 and _slides(found[n - 1], found[n], found[n + 1]):
            found[n] = _linking(found[n], words.PASSING)
    for first, last in _runs(basses):
        _mark_pedal(found, first, last)
    for first, last in _runs(roots):
        _mark_line(found, first, last)
    _mark_bass_lines(found, steps)
    for first, last in _runs(roots, 2):
        _mark_suspensions(found, first, last)
    if len(found) >= _FIFTHS:
        _mark_falling_fifths(found)
    _mark_close(found)
    return tuple(found)


def gives_way(reading: ChordReading) -> bool:
    """Whether it has no span, or a chain of fifths, which matters less than a turn or a close."""
    return not reading.span or reading.span.startswith(_CHAIN)


def _runs(values: Sequence[int], least: int = _LEAST) -> Iterator[tuple[int, int]]:
    """First and last index of each run of equal values that is long enough."""
    if sum(map(eq, values, values[1:])) + 1 < least:
        return
    first = 0
    for at in range(1, len(values) + 1):
        if at == len(values) or values[at] != values[first]:
            if at - first >= least:
                yield first, at - 1
            first = at


_INSIDE = frozenset({words.DIATONIC, words.BORROWED})


def _six_four(before: ChordReading, reading: ChordReading, into: int, out: int) -> ChordReading:
    """A six-four that links: `into` and `out` are its bass's steps in semitones."""
    stays = into == 0 == out
    steps = into * out > 0 and abs(into) <= 2 and abs(out) <= 2
    chord = reading.chord
    if (
        not (stays or steps)
        or chord.bass is None
        or reading.category not in _INSIDE
        or chord.fifth != chord.bass
        or chord.alter(7) is not None
    ):
        return reading
    if before.resolves and before.target is not None and before.target.pc == chord.bass.pc:
        return reading  # it is arrived at
    return _linking(reading, words.PEDAL if stays else words.PASSING)


_OUTSIDE = frozenset({words.CHROMATIC, words.MEDIANT, words.BORROWED})


def _slides(before: ChordReading, reading: ChordReading, after: ChordReading) -> bool:
    """Whether a chord that slides by semitones is from outside and keeps a neighbour's shape."""
    if reading.category not in _OUTSIDE:
        return False
    shape = (reading.chord.members, reading.chord.bass is None)
    alike = ((one.chord.members, one.chord.bass is None) == shape for one in (before, after))
    return any(alike)


def _linking(reading: ChordReading, category: Category) -> ChordReading:
    """A chord that only links its neighbours, and wants nothing itself."""
    return reading._replace(
        category=category, function=words.LINKING, resolves_to="", resolves=None
    )


def _mark_pedal(found: list[ChordReading], first: int, last: int) -> None:
    """A bass that stays under changing roots, foreign to one of them."""
    part = found[first : last + 1]
    roots = {reading.chord.root.pc for reading in part}
    if len(roots) < 2 or not any(reading.chord.bass_is_foreign for reading in part):
        return
    text = f"a pedal point on {part[0].notes[0].symbol} holds {len(part)} chords together"
    for n in range(first, last + 1):
        reading = found[n]
        held = reading.chord.bass_is_foreign and reading.category is words.DIATONIC
        category = words.PEDAL if held else reading.category
        found[n] = reading._replace(span=text, category=category)


def _mark_line(found: list[ChordReading], first: int, last: int) -> None:
    """One voice that moves by semitones while the harmony stays."""
    start = first
    while start + _LEAST - 1 <= last:
        line = max(
            (_line_from(found, start, last, note, way) for note in found[start].notes
             for way in (1, -1)),
            key=len,
        )  # fmt: skip
        if len(line) < _LEAST:
            start += 1
            continue
        named = " ".join(note.symbol for note in line)
        text = f"one voice moves by semitones, {named}, while the harmony stays"
        for n in range(start, start + len(line)):
            found[n] = found[n]._replace(span=text)
        start += len(line)


def _line_from(
    found: Sequence[ChordReading], start: int, last: int, note: Note, way: int
) -> list[Note]:
    line = [note]
    for n in range(start + 1, last + 1):
        wanted = (line[-1].pc + way) % 12
        old = {one.pc for one in found[n - 1].notes}
        new = next((one for one in found[n].notes if one.pc == wanted), None)
        if new is None or wanted in old:
            break
        line.append(new)
    return line


def _mark_suspensions(found: list[ChordReading], first: int, last: int) -> None:
    """A third that is put off and comes while the root stays."""
    for n in range(first, last):
        chord, after = found[n].spelled, found[n + 1]
        held = any(member.degree in (2, 4) for member in chord.members) and chord.third is None
        if held and after.spelled.third is not None and not found[n].span:
            found[n] = found[n]._replace(span=f"the third comes with {after.chord.pretty}")


def _mark_close(found: list[ChordReading]) -> None:
    """The major tonic that a piece in minor closes on, after a chord that leads to it."""
    for n in reversed(range(1, len(found))):
        before, reading = found[n - 1], found[n]
        major = reading.key.is_minor and reading.roman == "I"
        if not major or reading.category is not words.BORROWED or reading.span:
            return
        if before.function in (words.DOMINANT, words.PREDOMINANT):
            text = "it closes the minor key with a Picardy third"
            found[n:] = [one._replace(span=text) for one in found[n:]]
            return


def _mark_bass_lines(found: list[ChordReading], steps: Sequence[int]) -> None:
    """A bass that goes on by semitones one way under changing chords."""
    for first, last in _runs(steps):
        part = found[first : last + 2]
        if abs(steps[first]) == 1 and not any(reading.span for reading in part):
            way = "falls" if steps[first] < 0 else "rises"
            text = f"the bass {way} by semitones, {' '.join(one.notes[0].symbol for one in part)}"
            found[first : last + 2] = [reading._replace(span=text) for reading in part]


def _mark_falling_fifths(found: list[ChordReading]) -> None:
    """Roots that go on falling by fifths of a scale; chords on one root count once."""
    roots = [reading.spelled.root.fifths for reading in found]
    firsts, start = [0], 0
    for n in range(1, len(roots) + 1):
        down = roots[n - 1] - roots[n] if n < len(roots) else None
        if down is not None and down % 12 == 0:
            continue
        if down == 1 or (down == -6 and _is_within(found[n - 1], found[n])):
            firsts.append(n)
            continue
        if len(firsts) >= _FIFTHS:
            named = " ".join(found[first].spelled.root.symbol for first in firsts)
            for at in range(start, n):
                if not found[at].span:
                    found[at] = found[at]._replace(span=f"{_CHAIN}, {named}")
        firsts, start = [n], n


def _is_within(reading: ChordReading, after: ChordReading) -> bool:
    """Whether the roots of both are of the key's scale."""
    return {reading.spelled.root, after.spelled.root} <= set(reading.key.scale)
