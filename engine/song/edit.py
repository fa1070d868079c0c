"""Edits of bars and sections, each Song -> Song, as splices of the chart text.

Every edit keeps what sounds in the bars it doesn't name: where the bar after an
edited, inserted, moved or deleted one is written `%`, it is written out first
as what it repeated until then (and later `%` go on repeating it).
Bars are numbered from 1 through the song, sections from 0. All edits raise
SongError where the bar or section isn't there, and the error of the chart
where the outcome cannot be read, its place in the text that was typed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from engine.errors import ChartError, Place, SongError
from engine.meter import Meter
from engine.song.abc_bars import MelodyText
from engine.song.build import rebuilt
from engine.song.chart import WrittenBar, fit, place_at, split
from engine.song.splice import stretches, with_bar, with_bars, without_bar, words_of
from engine.song.value import Bar, Section, Settings, Slot, Song

#: A section of so many bars has a turn at its end to lead in with.
_TURNS = 4


def read_bar(text: str, meter: Meter, before: Bar | None = None) -> tuple[Slot, ...]:
    """The slots that a typed bar would have; spans and error places are in the text.

    `before` is the bar before it, for `%`. Raises ChartError and ChordError.
    """
    bar = _one_bar(text)
    slots = before.slots if before else ()
    return fit(text, bar, meter, slots, before.meter.bar if before else Fraction(0))


def bar_text(song: Song, number: int) -> str:
    """A bar as written, without its bar lines, remarks and outer blanks."""
    bar = _bar(song, number)
    chart = song.sections[bar.section].chart
    return words_of(chart, split(chart)[bar.in_section - 1])


def sounding_text(song: Song, number: int) -> str:
    """A bar as written, or for a `%` the text of the bar it repeats."""
    bar = _bar(song, number)
    while bar.repeats:
        bar = song.bars[bar.number - 2]
    return bar_text(song, bar.number)


def set_bar(song: Song, number: int, text: str) -> Song:
    """The song with a bar's chords written anew; bar lines stay in their columns if they can."""
    bar = _bar(song, number)
    read_bar(text, bar.meter, song.bars[number - 2] if number > 1 else None)
    if text.strip() == bar_text(song, number):
        return song
    song = _written_out(song, number + 1)
    return _with_chart(song, bar.section, lambda chart: with_bar(chart, bar.in_section, text))


def set_slot(song: Song, number: int, slot: int, symbol: str) -> Song:
    """The song with one symbol of a bar changed; slots count from 0. A `%` is written out."""
    bar = _bar(song, number)
    if not 0 <= slot < len(bar.slots):
        raise SongError(
            f"bar {number} has no chord {slot + 1}", f"it has {len(bar.slots)}: count from 1"
        )
    read_bar(symbol, Meter.of(1, 1))
    text = sounding_text(song, number)
    spans = [each.span for each in read_bar(text, bar.meter)]
    start, end = spans[slot]
    return set_bar(song, number, text[:start] + symbol.strip() + text[end:])


def insert_bars(song: Song, number: int, texts: Sequence[str]) -> Song:
    """The song with bars put in before bar `number`, or after the last for one number more.

    They join the section of bar `number`; settings and melody of its later bars move on.
    """
    if not texts:
        return song
    for text in texts:
        _one_bar(text)
    if number == len(song.bars) + 1:
        index, place = len(song.sections) - 1, song.bars[-1].in_section + 1
    else:
        index, place = _bar(song, number).section, _bar(song, number).in_section
        song = _written_out(song, number)
    section = song.sections[index]
    melody = section.melody
    if melody is not None:
        melody = _melody(song, section, index).with_rests(_time(song, index, place), len(texts))
    section = replace(
        section,
        chart=with_bars(section.chart, place, texts),
        melody=melody,
        bar_settings=tuple(
            (bar + len(texts) if bar >= place else bar, own) for bar, own in section.bar_settings
        ),
        peak=section.peak + len(texts) if section.peak and section.peak >= place else section.peak,
    )
    return _with_section(song, index, section)


def delete_bars(song: Song, first: int, last: int) -> Song:
    """The song without bars `first` to `last`; a section that loses all its bars goes too."""
    _bar(song, first)
    _bar(song, last)
    if last - first + 1 >= len(song.bars):
        raise SongError("these are all the song's bars", "leave at least one bar")
    song = _written_out(song, last + 1)
    gone = {number: song.bars[number - 1] for number in range(first, last + 1)}
    sections = []
    for index, section in enumerate(song.sections):
        bars = [bar.in_section for bar in gone.values() if bar.section == index]
        if not bars:
            sections.append(section)
        elif len(bars) < len(split(section.chart)):
            sections.append(_without(song, index, bars[0], bars[-1]))
    return rebuilt(song, sections=sections)


def add_section(song: Song, index: int, section: Section) -> Song:
    """The song with a section put in before section `index` (at the end for one more)."""
    index = max(0, min(index, len(song.sections)))
    song = _first_written_out(song, index)
    return rebuilt(song, sections=(*song.sections[:index], section, *song.sections[index:]))


def add_intro(song: Song) -> Song:
    """The song with an introduction of two or four bars before its first section.

    Its first harmony twice, then the two bars that lead back to it where the section ends so.
    """
    head = song.sections[0]
    if is_intro(head):
        raise SongError("the song has an introduction already", "edit the one that is there")
    own = [bar for bar in song.bars if bar.section == 0]
    words = [sounding_text(song, own[0].number), "%"]
    if len(own) >= _TURNS and own[-1].slots[-1].chord != own[0].slots[0].chord:
        words += [sounding_text(song, bar.number) for bar in own[-2:]]
    frame = Settings(head.settings.key, head.settings.meter, head.settings.tempo)
    return add_section(song, 0, Section("Intro", "| " + " | ".join(words) + " |", frame))


def is_intro(section: Section) -> bool:
    """Whether a section is an introduction, by its name."""
    return section.name.casefold().startswith("intro")


def rename_section(song: Song, index: int, name: str) -> Song:
    return _with_section(song, index, replace(_section(song, index), name=name))


def delete_section(song: Song, index: int) -> Song:
    """The song without a section. Raises SongError for the only one."""
    _section(song, index)
    if len(song.sections) == 1:
        raise SongError("this is the song's only section", "add another before it goes")
    song = _first_written_out(song, index + 1)
    return rebuilt(song, sections=song.sections[:index] + song.sections[index + 1 :])


def move_section(song: Song, index: int, to: int) -> Song:
    """The song with section `index` standing at place `to` among them."""
    _section(song, index)
    _section(song, to)
    if index == to:
        return song
    for each in (index, index + 1, to, to + 1):
        song = _first_written_out(song, each)
    sections = list(song.sections)
    sections.insert(to, sections.pop(index))
    return rebuilt(song, sections=sections)


def split_section(song: Song, number: int, name: str) -> Song:
    """The song with a new section beginning at bar `number`, which takes the settings along."""
    bar = _bar(song, number)
    if bar.in_section == 1:
        raise SongError(
            f"bar {number} already begins a section", "choose a bar inside one, or rename it"
        )
    song = _written_out(song, number)
    section, index, place = song.sections[bar.section], bar.section, bar.in_section
    count = len(split(section.chart))
    sung, later = section.melody, None
    if sung is not None:
        sung, later = _melody(song, section, index).parted(_time(song, index, place))
    head = replace(_without(song, index, place, count), melody=sung)
    rest = replace(_without(song, index, 1, place - 1), name=name, melody=later or None)
    return rebuilt(
        song, sections=(*song.sections[:index], head, rest, *song.sections[index + 1 :])
    )  # fmt: skip


# Parts of the edits.


def _bar(song: Song, number: int) -> Bar:
    if not 1 <= number <= len(song.bars):
        raise SongError(
            f"there is no bar {number}", f"bars are numbered from 1 to {len(song.bars)}"
        )
    return song.bars[number - 1]


def _section(song: Song, index: int) -> Section:
    if not 0 <= index < len(song.sections):
        raise SongError(
            f"there is no section {index + 1}", f"the song has {len(song.sections)} of them"
        )
    return song.sections[index]


def _with_section(song: Song, index: int, section: Section) -> Song:
    sections = (*song.sections[:index], section, *song.sections[index + 1 :])
    return rebuilt(song, sections=sections)


def _with_chart(song: Song, index: int, edit: Callable[[str], str]) -> Song:
    section = song.sections[index]
    return _with_section(song, index, replace(section, chart=edit(section.chart)))


def _one_bar(text: str) -> WrittenBar:
    bars = split(text)
    if not bars:
        raise ChartError(
            "no chord is written here",
            "write chords, % for the bar before, N.C. for no chord or ? for an open bar",
            Place(1, 1, text=text.split("\n", maxsplit=1)[0]),
        )
    line = text.find("|")
    if line >= 0:
        raise ChartError(
            "a bar line stands in the bar",
            "write one bar, without bar lines",
            place_at(text, line, line + 1),
        )
    (start, end), *more = stretches(text, bars[0])
    after = text[end:].lstrip()
    if text[:start].strip() or after or more:
        at = len(text) - len(after) if after else 0
        raise ChartError(
            "a remark or a line break stands in the bar",
            "write the chords alone; remarks belong to the chart in the file",
            place_at(text, at, len(text)),
        )
    return bars[0]


def _first_written_out(song: Song, index: int) -> Song:
    """The song with the first bar of a section written out if it is a `%`."""
    first = next((bar.number for bar in song.bars if bar.section == index), None)
    return song if first is None else _written_out(song, first)


def _written_out(song: Song, number: int) -> Song:
    """The song with bar `number` written as what it repeats, if it is there and a `%`."""
    if number < 1 or number > len(song.bars) or not song.bars[number - 1].repeats:
        return song
    bar, text = song.bars[number - 1], sounding_text(song, number)
    return _with_chart(song, bar.section, lambda chart: with_bar(chart, bar.in_section, text))


def _without(song: Song, index: int, first: int, last: int) -> Section:
    """A section without some of its bars, its settings renumbered."""
    section = song.sections[index]
    chart, melody = section.chart, section.melody
    if melody is not None:
        start, end = _time(song, index, first), _time(song, index, last + 1)
        melody = _melody(song, section, index).without(start, end)
    for place in range(last, first - 1, -1):
        chart = without_bar(chart, place)
    count = last - first + 1
    peak = section.peak
    if peak and peak >= first:
        peak = peak - count if peak > last else None
    return replace(
        section,
        chart=chart,
        melody=melody,
        peak=peak,
        bar_settings=tuple(
            (bar if bar < first else bar - count, own)
            for bar, own in section.bar_settings
            if not first <= bar <= last
        ),
    )


def _melody(song: Song, section: Section, index: int) -> MelodyText:
    first = next(bar for bar in song.bars if bar.section == index)
    return MelodyText(section.melody or "", first.key, first.meter)


def _time(song: Song, index: int, place: int) -> Fraction:
    """When a bar of a section begins, from the section's start (or when its last bar ends)."""
    bars = [bar for bar in song.bars if bar.section == index]
    begin = bars[place - 1].start if place <= len(bars) else bars[-1].end
    return begin - bars[0].start
