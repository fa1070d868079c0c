"""`alberti import`: a MIDI, MusicXML, ABC or chord-text file as a song file, with a report."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import FileError
from tui.cli.say import say_json, tell
from tui.cli.songs import open_other, put, put_json

if TYPE_CHECKING:
    from engine.exchange import Report
    from tui.cli.frame import Commands


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "import",
        help="make a song file of a MIDI, MusicXML, ABC or chord-text file",
        description="Read a .mid, .musicxml, .mxl, .abc or chord-text file and write it as a song.",
    )
    parser.add_argument("file", metavar="FILE", help="the file to read, or - for standard input")
    parser.add_argument(
        "-o", "--output", metavar="SONG", help="the song file to write (default: print it)"
    )
    parser.add_argument(
        "--json",
        action="store_true",
        help="print JSON, one object a line: the song or its file, then the report",
    )


def run(args: argparse.Namespace) -> int:
    from engine.song import write_song

    _refuse_own_file(args.file, args.output)
    imported = open_other(args.file)
    text = write_song(imported.song)
    if args.json:
        put_json(text, args.output, {})
        _say_lines(imported.report)
    else:
        put(text, args.output)
        tell(imported.report.text())
    return 0


def _refuse_own_file(file: str, output: str | None) -> None:
    """Raise FileError where the song would be written over what it is read from."""
    source, target = Path(file), Path(output or "")
    if output and target.exists() and source.exists() and target.samefile(source):
        raise FileError(
            f"“{output}” is the file that is read", "name another for the song, like song.toml"
        )


def _say_lines(report: Report) -> None:
    for line in report.lines:
        say_json({"bar": line.bar, "sure": str(line.sure), "text": line.text})
