"""The figure pane: both hands of the bars at hand over time, tokens, fingers, pedal, dynamics."""

from __future__ import annotations

from fractions import Fraction

from engine.part import Part, PartNote, Role
from engine.song import Hand
from engine.workshop import EntryKind, Pane, tokens_fault
from tui.draw import Sheet
from tui.view import View, slot_text
from tui.widgets.lane_plan import LABEL, LanePlan, PitchRow, pitch_rows, plan
from tui.widgets.line import draw_entry, pane_rule

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
    """The pane with its rule. Rows that do not fit are left out: dynamics first, fingers next."""
    sheet = Sheet(width, height)
    pane_rule(sheet, view, Pane.FIGURE, "figure", _title(view))
    _amounts(sheet, view)
    foot = ["right", "left"]
    part = view.stages.part
    notes = _notes_in(part, shown)
    fingered = any(note.finger for note in notes)
    for name, least, there in (("pedal", 9, True), ("finger", 10, fingered), ("arc", 13, True)):
        if height >= least and there:
            foot.append(name)
    room = height - 2 - len(foot)
    rows = pitch_rows(notes, room)
    top = 2
    for columns in shown.bars:
        _bar_line(sheet, columns.x, top - 1, top + room)
        _ruler(sheet, view, shown, columns.bar.number)
    _bar_line(sheet, shown.right, top - 1, top + room)
    for index, row in enumerate(rows):
        _pitch_row(sheet, top + index, row, notes, shown)
    y = top + room
    for name in foot:
        _foot(sheet, view, name, y, shown, notes)
        y += 1
    return sheet


def _notes_in(part: Part | None, shown: LanePlan) -> list[PartNote]:
    if part is None:
        return []
    return [note for note in part.notes if note.end > shown.start and note.onset < shown.end]


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
    return "   ".join(names)


def _amounts(sheet: Sheet, view: View) -> None:
    settings = view.bar.settings
    text = ""
    for name, amount in (
        ("busy", settings.busy),
        ("outside", settings.outside),
        ("doubling", settings.doubling),
        ("anticipation", settings.anticipation),
    ):
        if amount is not None:
            filled = round(amount * 5)
            piece = f" {name} {'▮' * filled}{'▯' * (5 - filled)} "
            if len(text) + len(piece) <= sheet.width // 2:
                text += piece
    sheet.put(sheet.width - len(text) - 1, 0, text, "dim")


def _bar_line(sheet: Sheet, x: int, y: int, until: int) -> None:
    for row in range(y, until):
        sheet.put(x, row, "│", "rule")


def _ruler(sheet: Sheet, view: View, shown: LanePlan, number: int) -> None:
    """The bar's number and chords over the bar."""
    columns = next(item for item in shown.bars if item.bar.number == number)
    bar = columns.bar
    glow = number in view.glow
    x = sheet.put(columns.x + 1, 1, f"{number} ", "faint")
    for slot in range(len(bar.slots)):
        at = max(columns.column(bar.slots[slot].onset), x)
        text = bar.slots[slot].chord.pretty if bar.slots[slot].chord else slot_text(bar, slot)  # type: ignore[union-attr]
        x = sheet.put(at, 1, text, "glow" if glow else "bold", until=columns.x + columns.width) + 1


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
    for column in range(x, until):
        if sheet.rows[y][column] == " ":
            sheet.put(column, y, "╶", "held")


def _foot(
    sheet: Sheet, view: View, name: str, y: int, shown: LanePlan, notes: list[PartNote]
) -> None:
    part = view.stages.part
    hand = Hand(name) if name in ("right", "left") else None
    here = hand is not None and view.work.pane is Pane.FIGURE and view.work.hand is hand
    sheet.put(1, y, name[: LABEL - 1], "focus" if here else "faint")
    if part is None:
        return
    if hand is not None:
        _tokens(sheet, view, part, hand, y, shown)
    elif name == "finger":
        _fingers(sheet, y, shown, notes)
    elif name == "pedal":
        _pedal(sheet, part, y, shown)
    else:
        _arc(sheet, part, y, shown)


def _tokens(sheet: Sheet, view: View, part: Part, hand: Hand, y: int, shown: LanePlan) -> None:
    cursor = view.work.cursor.bar
    here = view.work.pane is Pane.FIGURE and view.work.hand is hand
    for token in part.tokens:
        column = shown.column(token.onset)
        if token.hand is not hand or column is None:
            continue
        style = "cursor-away" if here and token.bar == cursor else ""
        if token.bar in view.glow:
            style = "glow"
        if token.text in (".", "x") and not style:
            style = "faint"
        sheet.put(column, y, token.text, style)
    entry = view.entry_in(Pane.FIGURE)
    if entry is not None and entry.kind is EntryKind.TOKENS and entry.hand is hand:
        own = [item for item in shown.bars if item.bar.number == entry.at.bar]
        place = own[0] if own else shown.bars[0]
        meter = view.work.song.bars[entry.at.bar - 1].meter
        wrong = tokens_fault(entry.text, hand, meter)
        draw_entry(sheet, place.x + 1, y, entry, wrong, least=place.width - 1)


def _fingers(sheet: Sheet, y: int, shown: LanePlan, notes: list[PartNote]) -> None:
    """The right hand's fingers; of notes struck together, low to high, the outer two's."""
    struck: dict[Fraction, str] = {}
    for note in notes:
        if note.hand is Hand.RIGHT and note.finger:
            struck[note.onset] = struck.get(note.onset, "") + str(note.finger)
    for onset, text in struck.items():
        column = shown.column(onset)
        if column is not None:
            sheet.put(column, y, text, "dim")


def _pedal(sheet: Sheet, part: Part, y: int, shown: LanePlan) -> None:
    """`└───┘` from down to up, drawn on where it stays down over the edge."""
    down: int | None = None
    for mark in part.pedal:
        if mark.onset >= shown.end:
            break
        if mark.onset < shown.start:
            down = shown.bars[0].x if mark.down else None
            continue
        column = shown.clamped(mark.onset)
        if mark.down:
            down = column
            sheet.put(column, y, "└", "dim")
        elif down is not None:
            sheet.put(down + 1, y, "─" * (column - down - 2), "dim")
            sheet.put(max(column - 1, down + 1), y, "┘", "dim")
            down = None
    if down is not None:
        sheet.put(down + 1, y, "─" * (shown.right - down - 1), "dim")


def _arc(sheet: Sheet, part: Part, y: int, shown: LanePlan) -> None:
    """Dynamic marks where they stand; `<` and `>` lead to the next."""
    free = 0
    for dynamic in part.dynamics:
        column = shown.column(dynamic.onset)
        if column is not None and dynamic.mark != "end":
            free = sheet.put(max(column, free), y, dynamic.mark, "dim") + 1
