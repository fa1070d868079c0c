"""Commands that move about the song and the panes."""

from __future__ import annotations

from engine.workshop import (
    EntryKind,
    Pane,
    moves,
    practice,
    typing,
)
from tui.commands.command import Command, Function


def _lines(count: int) -> Function:
    return lambda work: moves.by_lines(work, count)


def rows() -> tuple[Command, ...]:
    """In the order that help and palette show them."""
    chart = (Pane.CHART,)
    return (
        Command("left", "The chord before", ("left",), moves.previous_slot, "Moving"),
        Command("right", "The next chord", ("right",), moves.next_slot, "Moving"),
        Command("up", "A line up", ("up",), _lines(-1), "Moving", chart),
        Command("down", "A line down", ("down",), _lines(1), "Moving", chart),
        Command("page-up", "Four lines up", ("pageup",), _lines(-4), "Moving"),
        Command("page-down", "Four lines down", ("pagedown",), _lines(4), "Moving"),
        Command("first", "The first bar", ("home",), moves.first_bar, "Moving"),
        Command("last", "The last bar", ("end",), moves.last_bar, "Moving"),
        Command("next-section", "The next section", ("}",), moves.next_section, "Moving"),
        Command("previous-section", "The section before", ("{",), moves.previous_section,
                "Moving"),
        Command("go-to", "Go to a bar by number", ("j",),
                lambda work: typing.begin(work, EntryKind.GO_TO), "Moving"),
        Command("next-pane", "The next pane", ("tab",), moves.next_pane, "Moving"),
        Command("previous-pane", "The pane before", ("shift+tab",), moves.previous_pane,
                "Moving"),
        Command("dismiss", "Give up what is nearest: caution, selection, step mode, a file written",
                ("escape",), practice.dismiss, "Moving"),
    )  # fmt: skip
