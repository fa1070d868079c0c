"""The page of keys is made from the table of commands and kept fresh."""

from __future__ import annotations

from pathlib import Path

from tui.document import keys_page

PAGE = Path(__file__).parents[2] / "docs" / "keys.md"


def test_the_page_of_keys_is_what_the_table_says() -> None:
    assert PAGE.read_text(encoding="utf-8") == keys_page(), "make it anew: make docs"
