"""Figures learned from the notes of every bar: a section's commonest, and bars that differ."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from engine.errors import AlbertiError
from engine.exchange.read.source import ReportLine, SourceNote, Sure
from engine.figures import Heard, Learned, learn_song, parse_figure
from engine.harmony import Reading
from engine.song import BarSettings, Hand, Section, Settings, Song, build


def learned_figures(
    song: Song, reading: Reading, notes: Sequence[SourceNote], starts: Sequence[Fraction]
) -> tuple[Song, list[ReportLine]]:
    """The song with the figures its notes show, and what was learned of each bar.

    `starts` are the bars' places in the notes' time.
    """
    lines: list[ReportLine] = []
    found: dict[Hand, dict[int, str]] = {Hand.RIGHT: {}, Hand.LEFT: {}}
    for hand, texts in found.items():
        heard = _by_bar(song, notes, starts, hand)
        for number, learned in learn_song(song, reading, heard, hand).items():
            text = _written(learned)
            if text is None:
                said = f"the {hand} hand's notes: no figure says them"
                lines.append(ReportLine(number, Sure.LEFT, said))
                continue
            texts[number] = text
            lines += _lines(number, hand, learned, text)
        for bar in song.bars:
            if bar.number not in heard:
                texts[bar.number] = "x"
    return _song_with(song, found), lines


def _by_bar(
    song: Song, notes: Sequence[SourceNote], starts: Sequence[Fraction], hand: Hand
) -> dict[int, list[Heard]]:
    """A hand's notes by the number of the bar that they begin in, from the bar's start."""
    found: dict[int, list[Heard]] = {}
    for note in notes:
        number = bisect_right(starts, note.onset)
        if note.hand is hand and 0 < number <= len(song.bars):
            inside = note.onset - starts[number - 1]
            if inside < song.bars[number - 1].meter.bar:
                found.setdefault(number, []).append(Heard(inside, note.duration, note.midi))
    return dict(sorted(found.items()))


def _written(learned: Learned) -> str | None:
    """The figure's tokens, or None where it says less than half of the notes."""
    text = learned.figure.text
    missed = len(learned.missed)
    said = sum(len(slot.tokens) for slot in learned.figure.slots)
    if missed > said:
        return None
    try:
        parse_figure(text, learned.figure.hand)
    except AlbertiError:
        return None
    return text


def _lines(bar: int, hand: Hand, learned: Learned, text: str) -> list[ReportLine]:
    out = [ReportLine(bar, Sure.GUESSED, f"{hand} hand's figure {text}")]
    if learned.near:
        said = f"{_notes(learned.near)} of the {hand} hand written as the nearest token"
        out.append(ReportLine(bar, Sure.GUESSED, said))
    if learned.doubled:
        said = f"{_notes(learned.doubled)} that the {hand} hand doubles at the octave"
        out.append(ReportLine(bar, Sure.LEFT, said))
    if learned.missed:
        said = f"{_notes(learned.missed)} of the {hand} hand that no token says"
        out.append(ReportLine(bar, Sure.LEFT, said))
    return out


def _notes(notes: Sequence[Heard]) -> str:
    return "1 note" if len(notes) == 1 else f"{len(notes)} notes"


def _song_with(song: Song, found: dict[Hand, dict[int, str]]) -> Song:
    sections: list[Section] = []
    for index, section in enumerate(song.sections):
        bars = [bar for bar in song.bars if bar.section == index]
        usual = {hand: _commonest([found[hand].get(bar.number) for bar in bars]) for hand in found}
        own = dict(section.bar_settings)
        for bar in bars:
            right = _own(found[Hand.RIGHT].get(bar.number), usual[Hand.RIGHT])
            left = _own(found[Hand.LEFT].get(bar.number), usual[Hand.LEFT])
            if right is None and left is None:
                continue
            before = own.get(bar.in_section, BarSettings())
            settings = Settings(right=right, left=left).over(before.settings)
            own[bar.in_section] = replace(before, settings=settings)
        settings = Settings(right=usual[Hand.RIGHT], left=usual[Hand.LEFT]).over(section.settings)
        sections.append(
            replace(section, settings=settings, bar_settings=tuple(sorted(own.items())))
        )
    return build(
        song.title,
        song.settings,
        tuple(sections),
        reach=song.reach,
        take=song.take,
        composer=song.composer,
        rights=song.rights,
        file=song.file,
    )


def _commonest(texts: Sequence[str | None]) -> str | None:
    counts = Counter(text for text in texts if text is not None)
    return counts.most_common(1)[0][0] if counts else None


def _own(text: str | None, usual: str | None) -> str | None:
    return text if text is not None and text != usual else None
