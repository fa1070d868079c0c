"""The drawn keyboard strip: a column a semitone, black keys above, what is pressed marked."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from engine.pitch import Pitch
from tui.draw import Sheet

_BLACK = frozenset({1, 3, 6, 8, 10})


def key_range(lowest: int, highest: int, width: int) -> tuple[int, int]:
    """First and last MIDI number to draw in so many columns, from a C where there is room."""
    start = lowest - lowest % 12
    if width >= 80:
        start = min(start, 24)
    if highest - start + 1 > width:
        start = max(lowest - 1, highest - width + 1)
    return start, min(127, start + width - 1)


def draw_keys(
    sheet: Sheet,
    y: int,
    pressed: Mapping[Pitch, int | None],
    *,
    x: int = 0,
    width: int = 0,
    fingers: bool = False,
    around: tuple[int, int] | None = None,
    octaves: bool = False,
    right: Collection[int] = (),
    wrong: Collection[int] = (),
) -> None:
    """Two rows of keys at row y, a third with fingers; `pressed` maps pitches to fingers.

    With `octaves` the third row names each C too.

    Pressed keys carry a dot; one too low to be drawn is named at the left edge.
    `around` are the lowest and highest key of what is being played, so that the strip stands
    still where they fit. Of those struck on a MIDI keyboard `right` ones carry a square,
    `wrong` ones a cross.
    """
    width = min(width or sheet.width - x, 88)
    if not pressed or width < 12:
        return
    numbers = {pitch.midi: finger for pitch, finger in pressed.items()}
    lowest, highest = min(numbers), max(numbers)
    if around is not None and key_range(*around, width)[0] <= around[0]:
        lowest, highest = min(lowest, around[0]), max(highest, around[1])
    low, high = key_range(lowest, highest, width)
    for number in range(low, high + 1):
        column = x + number - low
        mark = "×" if number in wrong else "■" if number in right else "●"
        down = number in numbers or number in wrong
        if number % 12 in _BLACK:
            sheet.put(column, y, mark if down else "█", "press-black" if down else "black-key")
            sheet.put(column, y + 1, "│", "white-edge")
        else:
            sheet.put(column, y, " ", "white")
            sheet.put(column, y + 1, mark if down else " ", "press-white" if down else "white")
        if octaves and number % 12 == 0 and not any(numbers.get(number + up) for up in range(3)):
            sheet.put(column, y + 2, f"C{number // 12 - 1}", "faint")
    for number in range(low, high + 1):
        column = x + number - low
        if fingers and numbers.get(number):
            sheet.put(column, y + 2, str(numbers[number]), "bold")
    for pitch in pressed:
        if pitch.midi < low:
            sheet.put(x, y + 1, f"◄{pitch.symbol}", "press-white")
