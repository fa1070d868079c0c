"""The sheet of cells that the screen is drawn on."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from tui.draw import Sheet


@settings(deadline=None)
@given(st.text())
def test_every_cell_holds_one_sign_that_can_be_seen(text: str) -> None:
    sheet = Sheet(40, 1)
    sheet.put(0, 0, text)
    assert all(cell.isprintable() and cell_len(cell) == 1 for cell in sheet.rows[0])


def test_letters_whose_widths_even_out_are_replaced_too() -> None:
    """A sign of no width (Unicode 15, Emoji_Modifier) before one of two cells [S]."""
    sheet = Sheet(8, 1)
    sheet.put(0, 0, "\N{EMOJI MODIFIER FITZPATRICK TYPE-1-2}\N{RAT}!")
    assert sheet.text() == "??!"


def test_text_that_commands_the_terminal_is_drawn_as_question_marks() -> None:
    sheet = Sheet(30, 1)
    sheet.put(0, 0, "Boat\x1b[2J\x07\n\u202eevil\x9b2J")
    assert sheet.text() == "Boat?[2J???evil?2J"


def test_letters_written_in_two_signs_stay_letters() -> None:
    """File names are often decomposed (Unicode 15, UAX 15: NFD) [S]."""
    sheet = Sheet(8, 1)
    sheet.put(0, 0, "cafe\u0301 x")
    assert sheet.text() == "café x"
