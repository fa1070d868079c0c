"""A strand while it is worked on: what each cell plays, and which cells must stay as they are."""

from __future__ import annotations

from dataclasses import dataclass

from engine.arrange.strand import Cell, Strand
from engine.hands import Tones
from engine.part import Role


@dataclass(frozen=True, slots=True)
class Taste:
    """What is wanted at a harmony, as costs: negative ones pay.

    `decoration` is what an outside note costs before its kind and place,
    `doubling` what a doubled note costs before its place; `strengths` is the
    metric weight of each cell. `needs` are the pitch classes that
    the left hand has not and the harmony is long enough to need.
    """

    decoration: int
    doubling: int
    strengths: tuple[int, ...]
    left_top: int
    reach: int
    needs: tuple[int, ...]
    ceiling: int


@dataclass(slots=True)
class Draft:
    """The strand while it is worked on: per cell its pitches, roles, whys and token."""

    cells: list[Cell]
    roles: list[tuple[Role, ...]]
    whys: list[str]
    texts: list[str]
    fixed: set[int]
    locked: set[int]

    def put(self, index: int, pitch: int, role: Role, why: str, text: str) -> None:
        self.cells[index] = (pitch,)
        self.roles[index] = (role,)
        self.whys[index] = why
        self.texts[index] = text
        self.lock(index)

    def lock(self, *indices: int) -> None:
        """Keep cells as they are: something beside them depends on it."""
        self.fixed.update(indices)
        self.locked.update(indices)


def name_of(tones: Tones, pitch: int) -> str:
    return tones.pitch(pitch).note.symbol


def token_of(strand: Strand, pitch: int) -> str:
    """The token of a pitch of the shape."""
    for index, own in enumerate(strand.shape[:4]):
        if own == pitch:
            return str(index + 1)
    return "4"


def single(cell: Cell) -> int | None:
    return cell[0] if cell is not None and len(cell) == 1 else None


def single_before(draft: Draft, index: int) -> int | None:
    for cell in reversed(draft.cells[:index]):
        if cell != ():
            return single(cell)
    return None
