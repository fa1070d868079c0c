"""`alberti analyse`: every chord of a song read in its place."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from tui.cli.key import begins_in
from tui.cli.say import ascii_signs, number, say, say_json, say_table
from tui.cli.songs import Source, add_json, add_songs, each_song

if TYPE_CHECKING:
    from engine.harmony import ChordReading, Reading
    from tui.cli.frame import Commands


#: What must be believed of another key than the written one to be said unasked.
_SURE = 0.9


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "analyse",
        help="name every chord of a song: numeral, function, why it is there",
    )
    add_songs(parser, many=True)
    parser.add_argument(
        "--fixed-key", action="store_true", help="read all in the song's key, without modulations"
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    from engine.harmony import analyse

    def one(source: Source) -> int:
        reading = analyse(source.song, fixed_key=args.fixed_key)
        if args.json:
            say_json(_record(source, reading))
        else:
            _show(source, reading)
        return 0

    return each_song(args.songs, one)


def _record(source: Source, reading: Reading) -> dict[str, Any]:
    song = source.song
    bars: list[dict[str, Any]] = [
        {"bar": bar.number, "section": song.sections[bar.section].name, "chords": []}
        for bar in song.bars
    ]
    for chord in reading.chords:
        bars[chord.bar - 1]["chords"].append(_chord(chord))
    return {
        "file": source.name,
        "title": song.title,
        "key": song.key.name,
        "bars": bars,
    }


def _chord(reading: ChordReading) -> dict[str, Any]:
    return {
        "beat": number(reading.beat),
        "symbol": reading.chord.symbol,
        "notes": [note.name for note in reading.notes],
        "roman": reading.roman,
        "key": reading.key.name,
        "function": str(reading.function),
        "category": str(reading.category),
        "explanation": ascii_signs(reading.explanation),
    }


def _show(source: Source, reading: Reading) -> None:
    from engine.harmony import find_key

    song = source.song
    say(f"{song.title or source.name}: {song.key.symbol}, {song.meter}")
    found = find_key(song)
    if found.confidence >= _SURE and not begins_in(song, found.key):
        say(f"The chords sound like {found.key.symbol} ({found.confidence:.0%}).")
    rows, section = [], -1
    for chord in reading.chords:
        bar = song.bars[chord.bar - 1]
        if bar.section != section:
            section = bar.section
            rows.append(("", song.sections[section].name, *[""] * 5))
        rows.append(
            (
                f"{chord.bar}.{number(chord.beat)}",
                chord.chord.pretty,
                " ".join(note.symbol for note in chord.notes),
                chord.roman_pretty,
                chord.key.symbol,
                str(chord.function),
                chord.explanation,
            )
        )
    columns = ("bar.beat", "chord", "notes", "numeral", "key", "function", "why it is here")
    say_table(columns, rows)
