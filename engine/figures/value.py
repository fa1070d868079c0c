"""Figures as values: the token language of both hands, read and written back.

A figure is a row of equal slots. A slot is a rest (`x`), a hold (`.`) or notes
struck together, written joined (`14`, `R8`).

Right hand: `1 2 3` are positions in the hand's shape from the lowest note, `4`
the lowest an octave up (or the fourth of a four-note shape), `9` the scale's
second above the root, `6` its sixth, `s` a fourth in place of the third, `n` the upper
neighbour of the note before, `p` a passing note to what follows, `A` a note of
the next chord, tied over.
Left hand: `R 3 5 7 8 9 10` are members counted from the sounding bass, `5-` the
fifth below it, `p` a passing note to what follows.
Marks: `>` after a slot is an accent, `_` lets its notes ring until the harmony
changes, `~` rolls its notes from the lowest up. `/8` at the end says how many
slots fill a bar: fewer tokens are repeated, as `1 2 3 2/8`. A stroke, as in
`1 2 3 p | 3 2 1 2`, says that a chord which changes there is meant to go on with
what follows: without it, a change restarts the figure.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from engine.errors import FigureError, Place
from engine.meter import Meter
from engine.song import Hand

RIGHT_TOKENS = ("1", "2", "3", "4", "6", "9", "s", "n", "p", "A")
LEFT_TOKENS = ("10", "5-", "R", "3", "5", "7", "8", "9", "p")
#: Tokens that name no note by themselves, and so stand alone in a slot.
ALONE = frozenset("npA")
MOST_SLOTS = 96
#: Signs that may stand after a slot's notes.
MARKS = "_~>"
_WORDS = re.compile(r"[^\s|]+|\|")
_LENGTH = re.compile(r"/\s*(\d+)\s*$")
_CURES = {
    Hand.RIGHT: "write 1 2 3 4 6 9 n s p A, x rest, . hold",
    Hand.LEFT: "write R 3 5 7 8 9 10 5- p, x rest, . hold",
}


@dataclass(frozen=True, slots=True)
class FigureSlot:
    """One slot: `tokens` struck together, none for a rest or, with `hold`, for a note held on."""

    tokens: tuple[str, ...] = ()
    hold: bool = False
    accent: bool = False
    rings: bool = False
    rolled: bool = False

    @property
    def text(self) -> str:
        if not self.tokens:
            return "." if self.hold else "x"
        marks = (("_", self.rings), ("~", self.rolled), (">", self.accent))
        return "".join(self.tokens) + "".join(mark for mark, has in marks if has)


REST = FigureSlot()
HOLD = FigureSlot(hold=True)


@dataclass(frozen=True, slots=True)
class Figure:
    """A hand's figure for one bar. `meter` is the one it was made for, where that is known.

    `strokes` are the slots, counted from 0, before which a stroke stands.
    `difficulty` is 1–5, `slowest` and `fastest` beats a minute; all three, like
    `name`, are the catalogue's and empty for a typed figure.
    """

    hand: Hand
    slots: tuple[FigureSlot, ...]
    meter: Meter | None = None
    name: str = ""
    difficulty: int = 0
    slowest: int = 0
    fastest: int = 0
    strokes: tuple[int, ...] = ()

    @property
    def text(self) -> str:
        """The tokens, as `parse_figure` reads them."""
        return " ".join(
            f"| {slot.text}" if at in self.strokes else slot.text
            for at, slot in enumerate(self.slots)
        )

    @property
    def accents(self) -> tuple[int, ...]:
        """The accented slots, counted from 1."""
        return tuple(n for n, slot in enumerate(self.slots, 1) if slot.accent)

    @property
    def attacks(self) -> int:
        """How many slots strike a note."""
        return sum(1 for slot in self.slots if slot.tokens)

    @property
    def silent(self) -> bool:
        return self.attacks == 0


def parse_figure(text: str, hand: Hand) -> Figure:
    """Read figure tokens; raises FigureError with the span that cannot be read."""
    return _parse(text, hand)


@lru_cache(maxsize=1024)
def _parse(text: str, hand: Hand) -> Figure:
    body, length = text, 0
    match = _LENGTH.search(text)
    if match:
        body, length = text[: match.start()], int(match[1])
    slots: list[FigureSlot] = []
    strokes: set[int] = set()
    for word in _WORDS.finditer(body):
        if word[0] == "|":
            strokes.add(len(slots))
        else:
            slots.append(_slot(word[0], word.start(), text, hand))
    if not slots:
        raise FigureError(
            "no figure is written here", _CURES[hand], Place(1, max(1, len(text)), text=text)
        )
    if slots[0].hold:
        at = len(body) - len(body.lstrip())
        raise FigureError(
            "a figure can't begin with a hold: there is no note before it",
            "begin with a note, or with x for a rest",
            Place(at + 1, 1, text=text),
        )
    if match:
        slots = _repeated(slots, length, match, text)
    if len(slots) > MOST_SLOTS:
        raise FigureError(
            f"{len(slots)} slots are more than a bar holds",
            f"write at most {MOST_SLOTS}",
            Place(1, len(text), text=text),
        )
    within = tuple(sorted(at for at in strokes if 0 < at < len(slots)))
    return Figure(hand, tuple(slots), strokes=within)


def _repeated(
    slots: list[FigureSlot], length: int, match: re.Match[str], text: str
) -> list[FigureSlot]:
    if not 0 < length <= MOST_SLOTS or length % len(slots):
        raise FigureError(
            f"{len(slots)} tokens don't fill {length} slots evenly",
            f"write a multiple of {len(slots)} after the stroke, or {max(1, length)} tokens",
            Place(match.start() + 1, match.end() - match.start(), text=text),
        )
    return slots * (length // len(slots))


def _slot(word: str, at: int, text: str, hand: Hand) -> FigureSlot:
    body = word.rstrip(MARKS)
    marks = word[len(body) :]
    if body == "." and not marks:
        return HOLD
    if body == "x" and not marks:
        return REST
    if not body or len(set(marks)) < len(marks) or body in (".", "x"):
        raise FigureError(
            f"“{word}” is no figure token",
            "the marks >, _ and ~ stand once each, after a note",
            Place(at + 1, len(word), text=text),
        )
    tokens: list[str] = []
    offset = 0
    known = RIGHT_TOKENS if hand is Hand.RIGHT else LEFT_TOKENS
    while offset < len(body):
        token = next((token for token in known if body.startswith(token, offset)), None)
        if token is None:
            raise _unknown(body, offset, at, text, hand)
        if token in tokens:
            raise FigureError(
                f"“{token}” stands twice in “{word}”",
                "write each note of a slot once",
                Place(at + offset + 1, len(token), text=text),
            )
        tokens.append(token)
        offset += len(token)
    if len(tokens) > 1 and not ALONE.isdisjoint(tokens):
        raise FigureError(
            f"“{word}” joins a note that depends on its surroundings with others",
            "n, p and A stand alone in their slot",
            Place(at + 1, len(word), text=text),
        )
    return FigureSlot(tuple(tokens), accent=">" in marks, rings="_" in marks, rolled="~" in marks)


def _unknown(body: str, offset: int, at: int, text: str, hand: Hand) -> FigureError:
    other = LEFT_TOKENS if hand is Hand.RIGHT else RIGHT_TOKENS
    found = next((token for token in other if body.startswith(token, offset)), body[offset])
    theirs = found in other
    message = (
        f"“{found}” is a token of the other hand"
        if theirs
        else f"“{found}” is no token of the {hand.value} hand"
    )
    return FigureError(message, _CURES[hand], Place(at + offset + 1, len(found), text=text))
