"""The one or two sentences of a reading, composed from what was read.

The first says what the chord is here and which notes are outside the key and why
they are spelled so; the second where it wants to go and whether it does, which of
its names was taken, and what line it is part of. They are for people: ♯ and ♭.

Each part can be said at length, in few words, or not at all; what does not fit is
shortened part by part, so that no sentence is ever cut.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from engine.harmony import numeral
from engine.harmony.goals import goes, goes_briefly
from engine.harmony.names import other_names
from engine.harmony.reasons import outside, outside_briefly
from engine.harmony.roles import kind_and_role, role_briefly, role_of, what
from engine.harmony.spoken import pretty
from engine.harmony.words import Category

if TYPE_CHECKING:
    from engine.harmony.value import ChordReading

#: Signs of an explanation at most.
LONGEST = 200
_COUNTED = {3: "three", 4: "four"}
# Which part gives way first, each time to fewer words. What a chord wants is kept longer than
# what merely follows it.
_FIRST = ("role", "role", "name", "span", "outside", "name", "span", "role", "goes")
_WANTING, _LEANING = (*_FIRST, "outside", "goes"), (*_FIRST, "goes", "outside")
_ALONE = ("name", "span", "outside", "name", "span", "role", "goes", "role", "role", "outside")


def explanation(reading: ChordReading) -> str:
    """One or two sentences of at most `LONGEST` signs."""
    return _first_that_fits(reading, _ALONE, lambda text: len(text) <= LONGEST)


def account(reading: ChordReading, fits: Callable[[str], bool]) -> str:
    """The fullest that fits where symbol, numeral and notes stand beside it; else the shortest."""
    whole = explanation(reading)
    if fits(whole):
        return whole
    return _first_that_fits(reading, _WANTING if reading.resolves_to else _LEANING, fits)


def _first_that_fits(
    reading: ChordReading, shortenings: tuple[str, ...], fits: Callable[[str], bool]
) -> str:
    ways = {part: list(wordings) for part, wordings in _PARTS.items()}
    said = {part: wordings[0](reading) for part, wordings in ways.items()}
    text = _composed(said)
    for part in shortenings:
        if fits(text):
            break
        ways[part].pop(0)
        words = ways[part][0](reading) if ways[part] else ""
        if words != said[part]:
            said[part] = words
            text = _composed(said)
    return text


def _composed(said: dict[str, str]) -> str:
    role, notes = said["role"], said["outside"]
    word = notes.partition(" ")[0]
    between = {"whose": ", ", "with": " "}.get(word, "; ")
    opening = _sentence(role + (between + notes if notes else ""))
    rest = [said[part] for part in ("goes", "name", "span") if said[part]]
    return f"{opening} {_sentence('; '.join(rest))}" if rest else opening


def _sentence(text: str) -> str:
    text = text.removeprefix("which ")
    return f"{text[0].upper()}{text[1:]}."


def _span(reading: ChordReading) -> str:
    """The line or pedal point that it is part of, where its role does not tell that."""
    return "" if reading.category is Category.PEDAL else reading.span


def _span_briefly(reading: ChordReading) -> str:
    pedal, holds, _ = _span(reading).partition(" holds")
    return f"it stands over {pedal}" if holds else pedal.partition(",")[0]


def _better(reading: ChordReading) -> str:
    """A better spelling, or what a root that the key lacks stands for."""
    better = reading.better_spelling
    root = reading.spelled.root
    if better and (abs(root.alter) > 1 or root.pc != reading.chord.root.pc):
        return f"it is easier to read as {pretty(better)}"
    if better:
        return f"in this key it is better spelled {pretty(better)}"
    written = reading.chord.root
    if root != written and root.pc == written.pc:
        return f"{written.symbol} stands for {root.symbol} in this key"
    return ""


def _others(reading: ChordReading) -> str:
    """A better spelling; else which other names the notes have, and why this one was kept."""
    if better := _better(reading):
        return better
    others = _others_briefly(reading)
    if others and _any_is_root(reading):
        count = _COUNTED[len(reading.chord.pitch_classes)]
        return f"where it goes tells which of its {count} notes is the root"
    if not others or numeral.bass_member(reading.spelled) is None:
        return others
    root = reading.spelled.root.symbol
    if reading.chord.bass is None:
        return f"{others}, but the bass makes {root} the root"
    return f"{others}, but {root} acts as the root"


def _others_briefly(reading: ChordReading) -> str:
    if better := _better(reading):
        return better
    others = other_names(reading.chord)
    if not others or reading.category is Category.CADENTIAL:
        return ""
    if _any_is_root(reading):
        return "where it goes tells its root"
    return f"it is also {' or '.join(pretty(other) for other in others[:2])}"


def _any_is_root(reading: ChordReading) -> bool:
    """Whether each of its notes may be the root, as in a diminished seventh."""
    return len(other_names(reading.chord)) + 1 == len(reading.chord.pitch_classes)


# Each part in more and in fewer words.
_PARTS: dict[str, tuple[Callable[[ChordReading], str], ...]] = {
    "role": (what, kind_and_role, role_of, role_briefly),
    "outside": (outside, outside_briefly),
    "goes": (goes, goes_briefly),
    "name": (_others, _others_briefly),
    "span": (_span, _span_briefly),
}
