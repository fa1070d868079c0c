"""`alberti chord`: chord symbols read, in a key."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from engine.chord import Chord, is_no_chord, parse_chord
from engine.errors import ChordError, KeyNameError, Place
from engine.key import Key
from tui.cli.guard import BAD_INPUT, complain
from tui.cli.say import ascii_signs, say_json, say_table
from tui.cli.songs import STANDARD_INPUT, add_json

if TYPE_CHECKING:
    from engine.harmony import ChordReading
    from tui.cli.frame import Commands

_WORD = re.compile(r"(?:\([^()]*\)|\S)+")  # spaces in brackets divide nothing


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "chord",
        help="read chord symbols: their notes, numeral, function and scale in a key",
        description="Read chord symbols in a key. Symbols given together are read as a "
        "progression, in their order, so that each is named by where it goes; from standard "
        "input, each line is read by itself.",
    )
    parser.add_argument(
        "symbols", nargs="+", metavar="SYMBOL", help="chord symbols in their order, or - for lines"
    )
    parser.add_argument(
        "--key", default="C major", help="the key they stand in (default: C major)"
    )  # fmt: skip
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    try:
        key = Key.parse(args.key)
    except KeyNameError as error:
        raise error.at(error.place or Place(text=args.key)) from None
    status, rows = 0, []
    for symbol, reading in _each(_progressions(args.symbols), key):
        if isinstance(reading, ChordError):
            status = BAD_INPUT
            if args.json:
                column = reading.place.column if reading.place else 1
                text = f"{reading.message}; {reading.cure}" if reading.cure else reading.message
                say_json({"symbol": symbol, "error": text, "column": column})
            else:
                complain(reading)
        elif args.json:
            say_json(_record(symbol, reading))
        else:
            rows.append(_row(symbol, reading))
    if rows:
        say_table(("chord", "notes", "numeral", "function", "kind", "what it does"), rows)
    return status


def _progressions(given: Iterable[str]) -> Iterator[list[str]]:
    """What is read together: the symbols of the command, and those of each line."""
    together: list[str] = []
    for symbol in given:
        if symbol != STANDARD_INPUT:
            together.append(symbol)
            continue
        yield together
        together = []
        for raw in sys.stdin.buffer:
            line = raw.decode("utf-8", "replace").strip()
            words = [word.rstrip(",") or word for word in _WORD.findall(line)]
            yield [line] if isinstance(_parsed(line), Chord) else words
            sys.stdout.flush()  # who writes one line and waits for its answer gets it
    yield together


def _each(
    progressions: Iterable[list[str]], key: Key
) -> Iterator[tuple[str, ChordReading | ChordError]]:
    """Each symbol with its reading among its neighbours, or with what is wrong with it."""
    from engine.harmony import Step, read_progression

    for symbols in progressions:
        parsed = [_parsed(symbol) for symbol in symbols]
        chords = [chord for chord in parsed if isinstance(chord, Chord)]
        readings = iter(read_progression([Step(chord, key) for chord in chords]))
        for symbol, one in zip(symbols, parsed, strict=True):
            yield symbol, one if isinstance(one, ChordError) else next(readings)


def _parsed(symbol: str) -> Chord | ChordError:
    if is_no_chord(symbol):
        return ChordError(
            f"{symbol.strip()} says that no chord sounds",
            "name a chord, like C or Bbm7",
            Place(1, max(1, len(symbol)), text=symbol),
        )
    try:
        return parse_chord(symbol)
    except ChordError as error:
        return error


def _record(symbol: str, reading: ChordReading) -> dict[str, Any]:
    chord = reading.chord
    root = next((n for n in reading.notes if n.pc == chord.root.pc), reading.spelled.root)
    return {
        "symbol": symbol if symbol.isascii() else chord.symbol,
        "root": root.name,
        "bass": reading.notes[0].name,
        "notes": [note.name for note in reading.notes],
        "pitch_classes": sorted(chord.pitch_classes),
        "kind": chord.kind.name,
        "roman": reading.roman,
        "function": str(reading.function),
        "category": str(reading.category),
        "resolves_to": reading.resolves_to,
        "scale": [note.name for note in reading.scale],
        "explanation": ascii_signs(reading.explanation),
        "also": list(reading.also),
        "better_spelling": reading.better_spelling,
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
