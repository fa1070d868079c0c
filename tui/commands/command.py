"""What a command is, and the kinds of rows that recur in the table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from engine.song import Hand
from engine.workshop import Chooser, Extent, ListKind, Outcome, Pane, Work, typing

Function = Callable[[Work], "Work | Outcome"]
Reason = Callable[[Work], str]


def always(_: Work) -> str:
    """Never refused."""
    return ""


@dataclass(frozen=True, slots=True)
class Command:
    """One thing the workshop does.

    `name` is a stable word for key files, `title` what people read; `keys` are
    characters as typed or names (`space`, `ctrl+s`, `f2`); `panes` is empty
    for all panes; `reason` says why it is refused, empty where it is not;
    `hint` is its word in the footer, empty for none, shown only while `hinted`.
    """

    name: str
    title: str
    keys: tuple[str, ...]
    run: Function
    group: str
    panes: tuple[Pane, ...] = ()
    reason: Reason = always
    hint: str = ""
    hinted: Callable[[Work], bool] = lambda _: True

    def works_in(self, pane: Pane) -> bool:
        return not self.panes or pane in self.panes


def open_list(kind: ListKind, hand: Hand = Hand.RIGHT, extent: Extent = Extent.BAR) -> Function:
    """Opens a list; that of the figures marks their hand."""

    def run(work: Work) -> Work:
        held = replace(work, hand=hand) if kind is ListKind.FIGURES else work
        return replace(held, chooser=Chooser(kind, hand=hand, extent=extent))

    return run


def setting(name: str, title: str, extent: Extent, group: str = "Song") -> Command:
    """A row that types a setting of the song, of this section or of this bar."""
    where = {Extent.SONG: "song", Extent.SECTION: "section", Extent.BAR: "bar"}[extent]
    return Command(
        f"{where}-{name}",
        title,
        (),
        lambda work: typing.edit_setting(work, name, extent),
        group,
    )
