"""Sections that are the same come once, with repeat signs and endings.

A song holds every pass written out, so that each has its own bar numbers and
can be changed alone. On paper, passes that follow one another and are drawn
alike are one stretch between repeat signs; where only their last bars differ,
these are endings. Nothing is folded where a tie, a hairpin or the pedal would
have to leap, or where key, meter or tempo are new on the way back.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from engine.exchange.score import Accidental, Entry, Head, MarkKind, Measure, ScorePart, Staff

#: An ending has at most so many bars, and at most half of its pass.
LONGEST_ENDING = 4

#: The marks that begin what has to end.
_OPENING = {MarkKind.HAIRPIN: ("<", ">"), MarkKind.PEDAL: ("down",)}

#: A pass: the measures from the first index up to the second.
_Pass = tuple[int, int]
#: What is new about a measure that is kept, by its index.
_Kept = tuple[int, dict[str, Any]]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """All parts, and each measure as it is drawn through them, to compare."""

    parts: tuple[ScorePart, ...]
    _drawn: dict[int, tuple[Measure, ...]] = field(default_factory=dict)

    @property
    def lead(self) -> tuple[Measure, ...]:
        return self.parts[0].measures

    def drawn(self, n: int) -> tuple[Measure, ...]:
        if n not in self._drawn:
            self._drawn[n] = tuple(_drawn(part.measures[n]) for part in self.parts)
        return self._drawn[n]


def folded(parts: Sequence[ScorePart]) -> tuple[ScorePart, ...]:
    """The parts with passes that are alike written once."""
    if not parts:
        return ()
    sheet = _Sheet(tuple(parts))
    cuts = [n for n, measure in enumerate(sheet.lead) if measure.letter]
    sections = list(zip(cuts, [*cuts[1:], len(sheet.lead)], strict=True))
    kept: list[_Kept] = []
    at = 0
    while at < len(sections):
        passes, shared = _longest(sheet, sections[at:])
        if shared:
            kept += _written_once(sheet, passes, shared)
        else:
            kept += [(n, {}) for n in range(*sections[at])]
        at += len(passes)
    return tuple(
        replace(part, measures=tuple(replace(part.measures[n], **new) for n, new in kept))
        for part in parts
    )


def _longest(sheet: _Sheet, sections: Sequence[_Pass]) -> tuple[Sequence[_Pass], int]:
    """The most sections from the first on that can be written once, and the bars they share."""
    passes, shared = sections[:1], 0
    for count in range(2, len(sections) + 1):
        found = _shared(sheet, sections[:count])
        if not found:
            break
        passes, shared = sections[:count], found
    return passes, shared


def _shared(sheet: _Sheet, passes: Sequence[_Pass]) -> int:
    """How many first bars the passes share, 0 where they cannot be written once."""
    low = passes[0][0]
    lengths = [end - start for start, end in passes]
    shared = 0
    while shared < min(lengths) and all(
        sheet.drawn(start + shared) == sheet.drawn(low + shared) for start, _ in passes
    ):
        shared += 1
    if min(lengths) == shared < max(lengths):
        shared -= 1  # so that every pass has an ending
    if not shared or max(lengths) - shared > min(LONGEST_ENDING, shared):
        return 0
    for part in sheet.parts:
        returns = [part.measures[start] for start, _ in passes[1:]]
        if any(m.shows_key or m.shows_meter or m.tempo is not None for m in returns):
            return 0
        stretches = [part.measures[low : low + shared]]
        stretches += [part.measures[start + shared : end] for start, end in passes]
        if not all(map(_whole, stretches)):
            return 0
    return shared


def _written_once(sheet: _Sheet, passes: Sequence[_Pass], shared: int) -> list[_Kept]:
    low = passes[0][0]
    firsts = [sheet.lead[start] for start, _ in passes]
    names = dict.fromkeys(measure.section for measure in firsts)
    once: dict[int, dict[str, Any]] = {n: {} for n in range(low, low + shared)}
    once[low] = {
        "letter": " ".join(measure.letter for measure in firsts),
        "section": ", ".join(name for name in names if name),
        "repeat_opens": True,
    }
    endings = _endings(sheet, passes, shared)
    if not endings:
        once[low + shared - 1]["repeat_closes"] = len(passes)
        if len(passes) > 2:
            once[low]["section"] += f" ({len(passes)} times)"
    for group in endings:
        start, end = passes[group[0]]
        times = ", ".join(str(n + 1) for n in group)
        once |= {n: {"ending": times, "letter": ""} for n in range(start + shared, end)}
        once[start + shared]["ending_opens"] = True
        once[end - 1]["ending_closes"] = True
        if group is not endings[-1]:
            once[end - 1]["repeat_closes"] = 2
    return list(once.items())


def _endings(sheet: _Sheet, passes: Sequence[_Pass], shared: int) -> list[list[int]]:
    """The passes, from 0, by their endings; none where the passes are alike to the end."""
    ends = [[sheet.drawn(n) for n in range(start + shared, end)] for start, end in passes]
    groups: list[list[int]] = []
    for n, end in enumerate(ends):
        if not end:
            return []
        if groups and ends[groups[-1][-1]] == end:
            groups[-1].append(n)
        else:
            groups.append([n])
    return groups


def _drawn(measure: Measure) -> Measure:
    """A measure without its number and what depends on the bar before it."""
    if measure.letter:
        measure = replace(measure, tempo=None, shows_key=False, shows_meter=False)
    return replace(
        measure,
        number=0,
        letter="",
        section="",
        new_line=False,
        numerals=tuple(replace(numeral, tonic="") for numeral in measure.numerals),
        staves=tuple(map(_drawn_staff, measure.staves)),
    )


def _drawn_staff(staff: Staff) -> Staff:
    voices = tuple(
        replace(voice, entries=tuple(map(_drawn_entry, voice.entries))) for voice in staff.voices
    )
    return replace(staff, voices=voices)


def _drawn_entry(entry: Entry) -> Entry:
    return replace(entry, heads=tuple(map(_drawn_head, entry.heads)))


def _drawn_head(head: Head) -> Head:
    sign: Accidental | None = head.accidental
    if sign is not None and sign.courtesy:
        sign = None
    return replace(head, accidental=sign, finger=None, velocity=None)


def _whole(measures: Sequence[Measure]) -> bool:
    """Whether nothing reaches into a stretch or out of it: no tie, hairpin or pedal."""
    if not measures:
        return True
    first, last = measures[0], measures[-1]
    into = any(h.tie_in for e in _entries(first) if e.written.onset == 0 for h in e.heads)
    out = any(h.tie_out for e in _entries(last) if e.written.end == last.meter.bar for h in e.heads)
    return not into and not out and all(_ended(measures, kind) for kind in _OPENING)


def _entries(measure: Measure) -> Iterator[Entry]:
    return (entry for staff in measure.staves for voice in staff.voices for entry in voice.entries)


def _ended(measures: Sequence[Measure], kind: MarkKind) -> bool:
    """Whether every hairpin, or every pedal, that begins in a stretch ends in it."""
    marks = [m.text for each in measures for staff in each.staves for m in staff.marks
             if m.kind is kind]  # fmt: skip
    opened = sum(text in _OPENING[kind] for text in marks)
    return opened == sum(text in ("end", "up") for text in marks)
