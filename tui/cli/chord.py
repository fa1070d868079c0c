"""`alberti chord`: chord symbols read, in a key."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from engine.chord import is_no_chord, parse_chord
from engine.errors import ChordError, KeyNameError, Place
from engine.key import Key
from tui.cli.guard import BAD_INPUT, complain
from tui.cli.say import say_json, say_table
from tui.cli.songs import STANDARD_INPUT, add_json

if TYPE_CHECKING:
    from engine.harmony import ChordReading
    from tui.cli.frame import Commands


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "chord",
        help="read chord symbols: their notes, numeral, function and scale in a key",
    )
    parser.add_argument(
        "symbols", nargs="+", metavar="SYMBOL", help="chord symbols, or - to read one a line"
    )
    parser.add_argument(
        "--key", default="C major", help="the key they stand in (default: C major)"
    )  # fmt: skip
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    from engine.harmony import read_chord

    try:
        key = Key.parse(args.key)
    except KeyNameError as error:
        raise error.at(error.place or Place(text=args.key)) from None
    status, rows = 0, []
    for symbol in _symbols(args.symbols):
        try:
            reading = read_chord(_parsed(symbol), key)
        except ChordError as error:
            status = BAD_INPUT
            if args.json:
                column = error.place.column if error.place else 1
                text = f"{error.message}; {error.cure}" if error.cure else error.message
                say_json({"symbol": symbol, "error": text, "column": column})
            else:
                complain(error)
            continue
        if args.json:
            say_json(_record(symbol, reading))
        else:
            rows.append(_row(symbol, reading))
    if rows:
        say_table(("chord", "notes", "numeral", "function", "kind", "what it does"), rows)
    return status


def _symbols(given: Iterable[str]) -> Iterable[str]:
    for symbol in given:
        if symbol != STANDARD_INPUT:
            yield symbol
            continue
        for raw in sys.stdin.buffer:
            line = raw.decode("utf-8", "replace").strip()
            yield from [line] if "(" in line else line.split()


def _parsed(symbol: str) -> Any:
    if is_no_chord(symbol):
        raise ChordError(
            f"{symbol.strip()} says that no chord sounds",
            "name a chord, like C or Bbm7",
            Place(1, max(1, len(symbol)), text=symbol),
        )
    return parse_chord(symbol)


def _record(symbol: str, reading: ChordReading) -> dict[str, Any]:
    chord = reading.chord
    return {
        "symbol": symbol if symbol.isascii() else chord.symbol,
        "root": chord.root.name,
        "bass": chord.bass_note.name,
        "notes": [note.name for note in reading.notes],
        "pitch_classes": sorted(chord.pitch_classes),
        "kind": chord.kind.name,
        "roman": reading.roman,
        "function": str(reading.function),
        "category": str(reading.category),
        "resolves_to": reading.resolves_to,
        "scale": [note.name for note in reading.scale],
        "explanation": reading.explanation,
        "also": list(reading.also),
    }


def _row(symbol: str, reading: ChordReading) -> tuple[str, ...]:
    return (
        symbol,
        " ".join(note.symbol for note in reading.notes),
        reading.roman_pretty,
        str(reading.function),
        str(reading.category),
        reading.explanation,
    )
