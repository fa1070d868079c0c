"""The catalogue of figures, read from shared/figures, and figures found by tokens or by name.

A writer's own catalogue has the same form: `read_catalogue` reads it and
`write_catalogue` writes it.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from functools import lru_cache
from typing import Any

import shared
from engine.errors import FigureError, Place
from engine.figures.fit import fit
from engine.figures.value import Figure, parse_figure
from engine.meter import Meter
from engine.song import Hand


@lru_cache(maxsize=1)
def catalogue() -> tuple[Figure, ...]:
    """All figures that come with the program, in the order of their files; names are unique."""
    figures: list[Figure] = []
    for name in shared.names("figures", ".toml"):
        figures += read_catalogue(shared.text("figures", name), name)
    return tuple(figures)


def read_catalogue(text: str, file: str = "") -> tuple[Figure, ...]:
    """The figures of a catalogue file.

    Each `[[figure]]` has `name`, `hand`, `meter` and `tokens`, and may have
    `accents` (slots counted from 1), `difficulty` 1–5 and `tempo` (slowest and
    fastest, beats a minute). Raises FigureError naming the figure.
    """
    try:
        rows = tomllib.loads(text).get("figure", [])
    except tomllib.TOMLDecodeError as error:
        raise FigureError(
            f"the catalogue is not readable as TOML: {error}",
            "mend that line",
            Place(file=file),
        ) from None
    return tuple(_figure(row, file) for row in rows)


def _figure(row: dict[str, Any], file: str) -> Figure:
    name = str(row.get("name", ""))
    try:
        hand = Hand(row["hand"])
        meter = Meter.parse(row["meter"])
        figure = parse_figure(row["tokens"], hand)
        slowest, fastest = row.get("tempo", (0, 0))
        difficulty = int(row.get("difficulty", 0))
        accents = frozenset(int(slot) for slot in row.get("accents", ()))
    except FigureError as error:
        place = replace(error.place or Place(), file=file)
        raise FigureError(f"figure “{name}”: {error.message}", error.cure, place) from None
    except (KeyError, TypeError, ValueError) as error:
        raise FigureError(
            f"figure “{name}” is not complete: {error}",
            "write name, hand (left or right), meter and tokens",
            Place(file=file),
        ) from None
    slots = tuple(
        replace(slot, accent=slot.accent or (at in accents and bool(slot.tokens)))
        for at, slot in enumerate(figure.slots, 1)
    )
    return Figure(hand, slots, meter, name, difficulty, int(slowest), int(fastest))


def write_catalogue(figures: tuple[Figure, ...]) -> str:
    """A catalogue file that `read_catalogue` reads back to the same figures."""
    return "\n".join(_written(figure) for figure in figures)


def _written(figure: Figure) -> str:
    lines = [
        "[[figure]]",
        f"name = {_quoted(figure.name)}",
        f"hand = {_quoted(figure.hand.value)}",
        f"meter = {_quoted(figure.meter.name if figure.meter else '4/4')}",
        f"tokens = {_quoted(figure.text)}",
    ]
    if figure.difficulty:
        lines.append(f"difficulty = {figure.difficulty}")
    if figure.fastest:
        lines.append(f"tempo = [{figure.slowest}, {figure.fastest}]")
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


@lru_cache(maxsize=1)
def _by_name() -> dict[tuple[Hand, str], Figure]:
    return {(figure.hand, figure.name.casefold()): figure for figure in catalogue()}


def named_figure(name: str, hand: Hand) -> Figure | None:
    """The catalogue's figure of that name for that hand, or None."""
    return _by_name().get((hand, " ".join(name.split()).casefold()))


def find_figure(text: str, hand: Hand, meter: Meter | None = None) -> Figure:
    """The figure meant by tokens or by a catalogue name, fitted to a meter where one is given.

    Raises FigureError with the span that is neither.
    """
    return _find(text, hand, meter)


@lru_cache(maxsize=1024)
def _find(text: str, hand: Hand, meter: Meter | None) -> Figure:
    figure = named_figure(text, hand) or _typed(text, hand)
    return fit(figure, meter) if meter is not None else figure


def _typed(text: str, hand: Hand) -> Figure:
    words = text.split()
    if words and all(len(word) > 2 and word.isalpha() and word.islower() for word in words[:2]):
        other = Hand.LEFT if hand is Hand.RIGHT else Hand.RIGHT
        place = Place(1, len(text), text=text)
        if named_figure(text, other):
            message = f"“{text}” is a figure of the {other.value} hand"
        else:
            message = f"“{text}” is no figure of the catalogue"
        raise FigureError(message, f"choose one for the {hand.value} hand, or write tokens", place)
    return parse_figure(text, hand)
