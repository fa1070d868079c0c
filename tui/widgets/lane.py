"""The figure pane: both hands of the bars at hand over time, tokens, fingers, pedal, dynamics."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from engine.part import PartNote, Role
from engine.song import Hand
from engine.workshop import EntryKind, Pane, tokens_fault
from tui.draw import Sheet
from tui.view import View, slot_text
from tui.widgets.lane_plan import (
    LABEL,
    LanePlan,
    PartIndex,
    PitchRow,
    index_of,
    pitch_rows,
    plan,
)
from tui.widgets.line import draw_entry, pane_rule
from tui.widgets.melody import SIGN, draw_melody, draw_words, melody_of
from tui.widgets.step_keys import ROWS as STEP_ROWS
from tui.widgets.step_keys import draw_step_keys

#: Role to glyph and style; roles not named here are outside notes.
GLYPHS = {
    Role.CHORD: ("●", "chord"),
    Role.BASS: ("●", "bass"),
    Role.DOUBLING: ("◐", "doubling"),
}
OUTSIDE = ("○", "outside")
_BLACK = frozenset({1, 3, 6, 8, 10})


def lane_plan(view: View, width: int) -> LanePlan:
    """The bars shown: those at the cursor, or those that sound while a loop plays."""
    number = view.work.cursor.bar
    if view.sounding and view.work.playing:
        number = view.sounding.bar
    bars = view.work.shown.bars
    return plan(view.work.shown, view.stages.part, min(number, len(bars)), width)


def draw_lane(view: View, width: int, height: int, shown: LanePlan) -> Sheet:
    """The pane with its rule. Rows that do not fit are left out: dynamics first, fingers next.

    What is sung has a row under the melody, before the fingers have one.
    """
    sheet = Sheet(width, height)
    pane_rule(sheet, view, Pane.FIGURE, "figure", _title(view), _amounts(view, width))
    stepping = view.work.steps is not None
    foot = [] if stepping else ["right", "left"]
    index = _index(view, shown)
    notes = _notes_in(index, shown)
    fingered = any(note.finger for note in notes)
    sections = view.work.shown.sections
    sung = int(height >= 9 and any(sections[item.bar.section].melody for item in shown.bars))
    worded = int(bool(sung) and height >= 11 and _has_words(view, shown))
    for name, least, there in (
        ("pedal", 9, True), ("finger", 10 + 2 * worded, fingered), ("arc", 13 + worded, True)
    ):  # fmt: skip
        if height >= least and there and not stepping:
            foot.append(name)
    top = 2 + sung + worded
    room = height - top - (STEP_ROWS if stepping else len(foot))
    for columns in shown.bars:
        _bar_line(sheet, columns.x, 1, top)
        _ruler(sheet, view, shown, columns.bar.number)
    _bar_line(sheet, shown.right, 1, top)
    if sung:
        _melody(sheet, view, shown, worded=bool(worded))
    music = _music(index, shown, width, room)
    for y in range(min(music.height, sheet.height - top)):
        sheet.rows[top + y], sheet.styles[top + y] = music.rows[y][:], music.styles[y][:]
    y = top + room
    if stepping:
        draw_step_keys(sheet, view, y)
    for name in foot:
        _foot(sheet, view, name, y, shown, notes, index)
        y += 1
    return sheet


def _index(view: View, shown: LanePlan) -> PartIndex:
    """The part of the bars shown; nothing of one made when these bars lay at other times."""
    stages = view.stages
    made = {bar.number: (bar.start, bar.meter) for bar in stages.song.bars}
    bars = [item.bar for item in shown.bars]
    if any(made.get(bar.number, (bar.start, bar.meter)) != (bar.start, bar.meter) for bar in bars):
        return index_of(None, view.work.shown)
    return index_of(stages.part, stages.song)


@lru_cache(maxsize=8)
def _music(index: PartIndex, shown: LanePlan, width: int, room: int) -> Sheet:
    """The rows of pitches: drawn once, for nothing in them follows the cursor."""
    sheet = Sheet(width, room)
    notes = _notes_in(index, shown)
    for x in (*(columns.x for columns in shown.bars), shown.right):
        _bar_line(sheet, x, 0, sheet.height)
    for number, row in enumerate(pitch_rows(notes, room)):
        _pitch_row(sheet, number, row, notes, shown)
    return sheet


def _notes_in(index: PartIndex, shown: LanePlan) -> list[PartNote]:
    found = [note for item in shown.bars for note in index.sounding.get(item.bar.number, ())]
    return list(dict.fromkeys(found))


def _title(view: View) -> str:
    settings = view.bar.settings
    own = view.bar.own.settings
    names = [
        f"{hand}: {figure}" + (" (this bar's own)" if mine else "")
        for hand, figure, mine in (
            ("right", settings.right, own.right),
            ("left", settings.left, own.left),
        )
        if figure
    ]
    title, part = "   ".join(names), view.stages.part
    if title and part is not None and view.bar.number in part.closing:
        return f"the song’s close, not {title}"
    return title


def _amounts(view: View, width: int) -> str:
    """How busy, how far outside: as many of the amounts as fit beside the figures' names."""
    settings = view.bar.settings
    text, room = "", max(width // 5, min(width // 2, width - len(_title(view)) - 16))
    for name, amount in (
        ("busy", settings.busy),
        ("outside", settings.outside),
        ("doubling", settings.doubling),
        ("anticipation", settings.anticipation),
    ):
        if amount is not None:
            filled = round(amount * 5)
            piece = f" {name} {'▮' * filled}{'▯' * (5 - filled)} "
            if len(text) + len(piece) > room:
                break
            text += piece
    return text


def _has_words(view: View, shown: LanePlan) -> bool:
    sung = melody_of(view.work.shown).sung
    return any(item.bar.number in sung for item in shown.bars)


def _melody(sheet: Sheet, view: View, shown: LanePlan, *, worded: bool) -> None:
    """The melody under the ruler, muted where it does not sound, and its words."""
    word = f"{SIGN} mel" if view.work.melody else f"{SIGN} off"
    sheet.put(1, 2, word, "melody" if view.work.melody else "faint")
    for item in shown.bars:
        until = item.x + item.width
        draw_melody(sheet, view.work.shown, item.bar, 2, item.column, until)
        if worded:
            sung = melody_of(view.work.shown).verse(item.bar, view.work.verse)
            draw_words(sheet, sung, item.bar, 3, item.column, until)


def _bar_line(sheet: Sheet, x: int, y: int, until: int) -> None:
    for row in range(y, until):
        sheet.put(x, row, "│", "rule")


def _ruler(sheet: Sheet, view: View, shown: LanePlan, number: int) -> None:
    """The bar's number and chords over the bar."""
    columns = next(item for item in shown.bars if item.bar.number == number)
    bar = columns.bar
    glow = number in view.glow
    mark = "*" if number in view.work.marks else " "
    x = sheet.put(columns.x + 1, 1, f"{number}{mark}", "dim" if mark == "*" else "faint")
    for slot in bar.slots:
        at, style = max(columns.column(slot.onset), x), "glow" if glow else "bold"
        x = sheet.put(at, 1, slot_text(slot), style, until=columns.x + columns.width) + 1


def _pitch_row(sheet: Sheet, y: int, row: PitchRow, notes: list[PartNote], shown: LanePlan) -> None:
    if not row.shared:
        sheet.put(1, y, row.label.symbol, "dim")
        sheet.put(LABEL - 1, y, "█" if row.midi[0] % 12 in _BLACK else " ", "faint")
    for note in notes:
        if note.pitch.midi not in row.midi:
            continue
        glyph, style = GLYPHS.get(note.role, OUTSIDE)
        start = shown.clamped(note.onset)
        end = shown.clamped(note.end)
        stop = end if note.end > shown.end else end - 1
        if note.onset < shown.start:
            _hold(sheet, start, stop, y)
            continue
        step = max(1, next(c.step for c in shown.bars if c.bar.start <= note.onset < c.bar.end))
        if end - start > step:
            _hold(sheet, start + 1, stop, y)
        sheet.put(start, y, glyph, style)
        if row.shared and step > 2:
            sheet.put(start + 1, y, note.pitch.note.symbol[: step - 1], "faint")


def _hold(sheet: Sheet, x: int, until: int, y: int) -> None:
    if y >= sheet.height:
        return
    for column in range(x, until):
        if sheet.rows[y][column] == " ":
            sheet.put(column, y, "╶", "held")


def _foot(
    sheet: Sheet,
    view: View,
    name: str,
    y: int,
    shown: LanePlan,
    notes: list[PartNote],
    index: PartIndex,
) -> None:
    hand = Hand(name) if name in ("right", "left") else None
    here = hand is not None and view.work.pane is Pane.FIGURE and view.work.hand is hand
    sheet.put(1, y, name[: LABEL - 1], "focus" if here else "faint")
    if hand is not None:
        _tokens(sheet, view, index, hand, y, shown)
    elif name == "finger":
        _fingers(sheet, y, shown, notes)
    elif name == "pedal":
        _pedal(sheet, index, y, shown)
    else:
        _arc(sheet, index, y, shown)


def _tokens(
    sheet: Sheet, view: View, index: PartIndex, hand: Hand, y: int, shown: LanePlan
) -> None:
    cursor = view.work.cursor.bar
    here = view.work.pane is Pane.FIGURE and view.work.hand is hand
    for item in shown.bars:
        number = item.bar.number
        style = "cursor-away" if here and number == cursor else ""
        style = "glow" if number in view.glow else style
        for token in index.tokens.get(number, ()):
            if token.hand is hand:
                own = "faint" if token.text in (".", "x") and not style else style
                sheet.put(item.column(token.onset - item.bar.start), y, token.text, own)
    entry = view.entry_in(Pane.FIGURE)
    if entry is not None and entry.kind is EntryKind.TOKENS and entry.hand is hand:
        own_bar = [item for item in shown.bars if item.bar.number == entry.at.bar]
        place = own_bar[0] if own_bar else shown.bars[0]
        meter = view.work.song.bars[entry.at.bar - 1].meter
        wrong = tokens_fault(entry.text, hand, meter)
        draw_entry(sheet, place.x + 1, y, entry, wrong, least=place.width - 1)


def _fingers(sheet: Sheet, y: int, shown: LanePlan, notes: list[PartNote]) -> None:
    """The right hand's fingers, those of notes struck together low to high."""
    struck: dict[Fraction, str] = {}
    for note in notes:
        if note.hand is Hand.RIGHT and note.finger:
            struck[note.onset] = struck.get(note.onset, "") + str(note.finger)
    for onset, text in struck.items():
        column = shown.column(onset)
        if column is not None:
            sheet.put(column, y, text, "dim")


def _pedal(sheet: Sheet, index: PartIndex, y: int, shown: LanePlan) -> None:
    """`└───┘` from down to up, drawn on where it stays down over the edge."""
    first = shown.bars[0]
    down = first.x if index.pedal_down.get(first.bar.number) else None
    for item in shown.bars:
        for mark in index.pedal.get(item.bar.number, ()):
            column = item.column(mark.onset - item.bar.start)
            if mark.down:
                down = column
                sheet.put(column, y, "└", "dim")
            elif down is not None:
                sheet.put(down + 1, y, "─" * (column - down - 2), "dim")
                sheet.put(max(column - 1, down + 1), y, "┘", "dim")
                down = None
    if down is not None:
        sheet.put(down + 1, y, "─" * (shown.right - down - 1), "dim")


def _arc(sheet: Sheet, index: PartIndex, y: int, shown: LanePlan) -> None:
    """Dynamic marks where they stand; `<` and `>` lead to the next."""
    free = 0
    for item in shown.bars:
        for dynamic in index.dynamics.get(item.bar.number, ()):
            if dynamic.mark != "end":
                column = max(item.column(dynamic.onset - item.bar.start), free)
                free = sheet.put(column, y, dynamic.mark, "dim") + 1
