"""The chart pane: four bars a line, sections lettered at the left: melody, chord, numeral."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.song import Bar, SlotKind, Song
from engine.workshop import EntryKind, Pane, chart_lines, line_of, symbol_fault
from tui.draw import Sheet, cut
from tui.view import View, slot_text
from tui.widgets.about import signed_symbol
from tui.widgets.line import draw_entry, pane_rule
from tui.widgets.melody import SIGN, draw_melody, draw_words, melody_of

if TYPE_CHECKING:
    from engine.harmony import ChordReading

#: Columns at the left: the section's letter and, in narrow charts, the line's first bar number.
GUTTER, NARROW_GUTTER = 3, 5
NUMBERED = 16  # from this width on each bar shows its number
#: Shorter ways of writing, for bars that are too narrow.
SHORTER = (("sus4", "sus"), ("maj", "M"), ("add9", "9"))


@dataclass(frozen=True, slots=True)
class Rows:
    """Where the lines of a chart stand: each line's row of chords, and how many rows above it sing.

    Rows count from the pane's first below its rule; `last` is the row after all lines.
    """

    chords: tuple[int, ...]
    sung: tuple[int, ...]
    last: int


def rows_of(song: Song, height: int) -> Rows:
    """The lines of a chart, as roomy as a height allows without one of them out of sight.

    A line takes two rows, chord and numeral. Over one that is sung stand melody and words, or
    the melody alone; then come blanks between lines, over those that are not sung first.
    """
    lines = chart_lines(song)
    bare = Rows(tuple(2 * line for line in range(len(lines))), (0,) * len(lines), 2 * len(lines))
    if bare.last > height:
        return bare
    worded = _sung(song)
    for sung in (worded, [min(rows, 1) for rows in worded], [0] * len(lines)):
        for blanks in ([1] * len(lines), [int(not rows) for rows in sung]):
            found = _stacked(sung, [0, *blanks[1:]])
            if found.last <= height:
                return found
        if (found := _stacked(sung, [0] * len(lines))).last <= height:
            return found
    return bare


def _sung(song: Song) -> list[int]:
    """Rows that a melody takes over each line: 1 where it sounds, 2 with words, else 0."""
    melody = melody_of(song)
    return [
        int(any(number in melody.sounding for number in line))
        + int(any(number in melody.sung for number in line))
        for line in chart_lines(song)
    ]


def _stacked(sung: list[int], blanks: list[int]) -> Rows:
    chords, y = [], 0
    for rows, blank in zip(sung, blanks, strict=True):
        chords.append(y + blank + rows)
        y = chords[-1] + 2
    return Rows(tuple(chords), tuple(sung), y)


def wanted_rows(song: Song) -> int:
    """The rows that the pane would have: every line with a blank over it, and all that is sung."""
    sung = _sung(song)
    return 1 + _stacked(sung, [0, *(1 for _ in sung[1:])]).last


def scrolled(view: View, top: int, height: int) -> int:
    """The first line to show: as before, moved only as far as the cursor needs."""
    song = view.work.shown
    rows = rows_of(song, height - 1)
    if rows.last <= height - 1:
        return 0
    room = max(1, (height - 1) // 2)
    at = view.sounding.bar if view.sounding and view.work.loop else view.bar.number
    line = line_of(song, at)
    last = max(0, len(rows.chords) - room)
    return min(max(min(top, line), line - room + 1), last)


def draw_chart(view: View, width: int, height: int, top: int = 0) -> Sheet:
    """The pane with its rule; `top` is the first line of the chart shown."""
    sheet = Sheet(width, height)
    pane_rule(sheet, view, Pane.CHART, "chart", _where(view))
    rows = rows_of(view.work.shown, height - 1)
    gutter = GUTTER if (width - GUTTER) // 4 >= NUMBERED else NARROW_GUTTER
    cell = (width - gutter - 1) // 4
    over = 1 - 2 * top
    for index, line in enumerate(chart_lines(view.work.shown)[top:], start=top):
        y, sung = over + rows.chords[index], rows.sung[index]
        if y >= height:
            break
        if sung:
            _melody(sheet, view, line, y - sung, gutter, cell, worded=sung > 1)
        _line(sheet, view, line, y, gutter, cell)
    _entry(sheet, view, rows, over, gutter, cell)
    return sheet


def _where(view: View) -> str:
    work = view.work
    first, last = work.selection
    if work.anchor is not None:
        return f"bars {first}–{last} selected"
    count = max(melody_of(work.shown).verses.values(), default=0)
    verse = f"verse {min(work.verse, count - 1) + 1} of {count}" if count > 1 else ""
    changed = "* its notes changed" if work.marks else ""
    return " · ".join(filter(None, (verse, changed)))


def _melody(
    sheet: Sheet, view: View, line: tuple[int, ...], y: int, gutter: int, cell: int, *, worded: bool
) -> None:
    """The melody over a line of the chart, each note over the beat it begins on; its words."""
    song = view.work.shown
    sheet.put(1, y, SIGN, "melody")
    for column, number in enumerate(line):
        bar = song.bars[number - 1]
        left = gutter + column * cell + (4 if cell >= NUMBERED else 1)
        until = gutter + (column + 1) * cell

        def place(at: Fraction, bar: Bar = bar, left: int = left, until: int = until) -> int:
            return left + int(at / bar.meter.bar * (until - left))

        draw_melody(sheet, song, bar, y, place, until)
        if worded:
            sung = melody_of(song).verse(bar, view.work.verse)
            draw_words(sheet, sung, bar, y + 1, place, until + 1)  # no bar line stands here


def _line(sheet: Sheet, view: View, line: tuple[int, ...], y: int, gutter: int, cell: int) -> None:
    bars = view.work.shown.bars
    first = bars[line[0] - 1]
    if first.in_section == 1:
        letter = section_letter(first.section)
        sheet.put(1, y, letter, "section")
    if cell < NUMBERED:
        sheet.put(gutter - len(str(line[0])), y, str(line[0]), "faint")
    for column, number in enumerate(line):
        _bar(sheet, view, bars[number - 1], gutter + column * cell, y, cell)
    end = gutter + len(line) * cell
    sheet.put(end, y, "│", "rule")
    sheet.put(end, y + 1, "│", "rule")
    loop = view.work.loop
    if loop and loop.last in line:
        x = gutter + (line.index(loop.last) + 1) * cell
        sheet.put(x, y, "▐", "loop")
        sheet.put(x, y + 1, "▐", "loop")


def section_letter(section: int) -> str:
    """A for the first section, B for the next; after Z, two letters."""
    high, low = divmod(section, 26)
    return (chr(64 + high) if high else "") + chr(65 + low)


def _bar(sheet: Sheet, view: View, bar: Bar, x: int, y: int, cell: int) -> None:
    work = view.work
    first, last = work.selection
    selected = work.anchor is not None and first <= bar.number <= last
    loop = work.loop is not None and work.loop.first == bar.number
    if selected:
        sheet.paint(x + 1, y, cell - 1, "select")
        sheet.paint(x + 1, y + 1, cell - 1, "select")
    for row in (y, y + 1):
        sheet.put(x, row, "▌" if loop else "│", "loop" if loop else "rule")
    left = x + 1
    if cell >= NUMBERED:
        sheet.put(left, y, str(bar.number), "faint")
        left += 3 if bar.number < 100 else 4
    if bar.own.keep is not None:
        sheet.put(x + cell - 1, y, "■", "good")
    until = end = x + cell
    if any(found.bar == bar.number and not found.waived for found in view.stages.findings):
        end -= 1
        sheet.put(end, y + 1, "!", "trouble")
    if bar.number in work.marks:
        sheet.put(end - 1, y + 1, "*", "dim")
    if bar.number in view.clean:
        mark = view.clean[bar.number]
        sheet.put(until - len(mark), y + 1, mark, "good")
    ground = "select" if selected else ""
    for slot, (at, text, numeral) in enumerate(placed(view, bar, until - left)):
        style = _style(view, bar, slot, ground)
        sheet.put(left + at, y, text, style, until=until)
        tint = ground or ("glow" if style == "glow" else _numeral_style(view, bar, slot))
        sheet.put(left + at, y + 1, numeral, tint, until=until)


def placed(view: View, bar: Bar, width: int) -> list[tuple[int, str, str]]:
    """Each slot's column, chord and numeral: on its beat, pushed on where the one before is long.

    Where all of it is too wide, chords stand a blank apart and the longest are cut. A numeral
    that is the first in another key has the key before it, where there is room.
    """
    texts = [slot_text(slot) for slot in bar.slots]
    if bar.repeats:
        texts = ["%", *("" for _ in texts[1:])]
    found = [view.reading_at(bar.number, slot) for slot in range(len(bar.slots))]
    told = [item if not bar.repeats else None for item in found]
    bare = [item.roman_pretty if item else "" for item in told]
    numerals = [_key(view, item) + numeral for item, numeral in zip(told, bare, strict=True)]
    beats = [int(slot.onset / bar.meter.bar * width) for slot in bar.slots]
    columns = _spread(beats, [max(map(len, pair)) for pair in zip(texts, numerals, strict=True)])
    if columns[-1] + len(texts[-1]) > width:
        columns = _spread(beats, [len(text) for text in texts])
    if columns[-1] + len(texts[-1]) > width:
        texts = [_shortened(text) for text in texts]
        columns = _spread([0] * len(texts), _shares([len(text) for text in texts], width))
    ends = [*columns[1:], width + 1]
    rooms = [end - column - 1 for column, end in zip(columns, ends, strict=True)]
    return [
        (column, cut(text, room), keyed if len(keyed) <= room else _short_numeral(numeral, room))
        for column, text, keyed, numeral, room in zip(
            columns, texts, numerals, bare, rooms, strict=True
        )
    ]


def _key(view: View, reading: ChordReading | None) -> str:
    """`Dm: ` where a chord is the first in another key."""
    key = view.new_key(reading) if reading is not None else None
    if key is None:
        return ""
    return f"{signed_symbol(key.short)}: "


def _spread(beats: list[int], sizes: list[int]) -> list[int]:
    """A column for each text: its beat's, or the first free one."""
    columns, free = [], 0
    for beat, size in zip(beats, sizes, strict=True):
        columns.append(max(beat, free))
        free = columns[-1] + size + 1
    return columns


def _shortened(text: str) -> str:
    for long, short in SHORTER:
        text = text.replace(long, short)
    return text


def _short_numeral(numeral: str, room: int) -> str:
    """A numeral cut where its brackets begin rather than in them."""
    bare = numeral.partition("(")[0]
    return f"{bare}…" if len(bare) < room < len(numeral) else cut(numeral, room)


def _shares(sizes: list[int], width: int) -> list[int]:
    """The columns each text gets of a bar too narrow for all: short ones what they need."""
    room = width - (len(sizes) - 1)
    shares = [0] * len(sizes)
    order = sorted(range(len(sizes)), key=lambda index: sizes[index])
    for count, index in enumerate(order):
        shares[index] = max(1, min(sizes[index], room // (len(sizes) - count)))
        room -= shares[index]
    return shares


def _style(view: View, bar: Bar, slot: int, ground: str) -> str:
    work, sounding = view.work, view.sounding
    if work.cursor.bar == bar.number and min(work.cursor.slot, len(bar.slots) - 1) == slot:
        return "cursor" if work.pane is Pane.CHART else "cursor-away"
    if sounding and sounding.bar == bar.number and sounding.slot == slot:
        return "now"
    if bar.number in view.glow:
        return "glow"
    if ground:
        return ground
    return "open" if bar.slots[slot].kind is SlotKind.OPEN else "bold"


def _numeral_style(view: View, bar: Bar, slot: int) -> str:
    reading = view.reading_at(bar.number, slot)
    return "outside" if reading and reading.outside else "numeral"


def _entry(sheet: Sheet, view: View, rows: Rows, over: int, gutter: int, cell: int) -> None:
    """The chord or bar being typed; the lines' rows begin at row `over` of the sheet."""
    entry = view.entry_in(Pane.CHART)
    if entry is None or entry.kind not in (EntryKind.CHORD, EntryKind.BAR):
        return
    song = view.work.shown
    line = line_of(song, entry.at.bar)
    y = over + rows.chords[line]
    column = chart_lines(song)[line].index(entry.at.bar)
    x = gutter + column * cell + (4 if cell >= NUMBERED else 1)
    bar = song.bars[entry.at.bar - 1]
    if entry.kind is EntryKind.CHORD:
        places = placed(view, bar, gutter + (column + 1) * cell - x)
        x += places[min(entry.at.slot, len(places) - 1)][0]
    fault = symbol_fault(entry.text) if entry.kind is EntryKind.CHORD else None
    draw_entry(sheet, x, y, entry, fault, least=max(4, cell - 4))
