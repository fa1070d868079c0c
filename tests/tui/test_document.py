"""The key documentation is the command table's, and fresh."""

from __future__ import annotations

from pathlib import Path

from tui.commands import table
from tui.document import keys_page

DOCS = Path(__file__).parents[2] / "docs"


def test_the_key_page_is_fresh() -> None:
    """When this fails, run `make docs`."""
    assert (DOCS / "keys.md").read_text(encoding="utf-8") == keys_page()


def test_every_command_is_documented() -> None:
    page = keys_page()
    assert all(f"| {command.title} |" in page for command in table())
