"""Songs for commands: read from files or standard input, checked, written out."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from engine.errors import InputError
from engine.song import LARGEST_BYTES, Song, decoded, locate, read_file, read_song
from engine.song.file_name import refuse_other_kind
from engine.song.melody_bars import melody_faults
from engine.whole import whole_file
from tui.cli.guard import BAD_INPUT, caution, complain
from tui.cli.say import harmless, say_json

if TYPE_CHECKING:
    from engine.exchange import Imported

STANDARD_INPUT = "-"


@dataclass(frozen=True, slots=True)
class Source:
    """A song with the text that it was read from and the name it goes by."""

    name: str
    text: str
    song: Song


def open_song(name: str) -> Source:
    """The song of a file, or of standard input for `-`, its figures and shapes checked too.

    A melody whose bars aren't those of the chart is only cautioned of: the song goes without
    it too. Raises an InputError with its place.
    """
    from engine.arrange.ground import song_troubles  # all of the arranger

    if name == STANDARD_INPUT:
        file = "standard input"
        text = decoded(sys.stdin.buffer.read(LARGEST_BYTES + 1), file)
    else:
        file, text = name, read_file(name)
    song = read_song(text, file)
    for trouble in song_troubles(song):
        error = trouble.error
        place = locate(text, trouble.section, trouble.bar, trouble.field, error.place)
        raise error.at(replace(place, file=file))
    for index, fault in melody_faults(song):
        place = locate(text, index, None, "melody", fault.place)
        caution(fault.at(replace(place, file=file)))
    return Source(name, text, song)


def open_other(name: str) -> Imported:
    """What a file of another kind, or standard input for `-`, holds as a song.

    Raises FileError, or another InputError with its place.
    """
    from engine.exchange import import_bytes, import_file
    from engine.exchange.read.guard import LARGEST

    if name == STANDARD_INPUT:
        return import_bytes(sys.stdin.buffer.read(LARGEST + 1), "")
    return import_file(name)


def add_songs(parser: argparse.ArgumentParser, *, many: bool = False) -> None:
    """The argument that names the song file, or several."""
    if many:
        parser.add_argument(
            "songs", nargs="+", metavar="SONG", help="song files, or - for standard input"
        )
    else:
        parser.add_argument("song", metavar="SONG", help="a song file, or - for standard input")


def add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON, one object a line")


def put(text: str, output: str | None) -> None:
    """Write text to a file, whole or not at all, or print it where none is named.

    Raises FileError.
    """
    if output is None or output == STANDARD_INPUT:
        sys.stdout.write(harmless(text) if sys.stdout.isatty() else text)
        return
    path = Path(output)
    refuse_other_kind(path)
    if path.is_char_device() or path.is_fifo():
        path.write_text(text, encoding="utf-8", newline="")
        return
    with whole_file(path) as part:
        part.write_text(text, encoding="utf-8", newline="")


def put_json(text: str, output: str | None, record: dict[str, Any]) -> None:
    """Write text to a file and print `record` with its name, or print the text within it."""
    if output is None or output == STANDARD_INPUT:
        say_json({**record, "song": text})
        return
    put(text, output)
    say_json({**record, "file": output})


def each_song(names: Sequence[str], one: Callable[[Source], int]) -> int:
    """Do `one` for every song; a song that cannot be read is complained of, the others go on.

    Returns the worst exit status.
    """
    worst = 0
    for name in names:
        try:
            status = one(open_song(name))
        except InputError as error:
            complain(error)
            status = BAD_INPUT
        worst = max(worst, status)
    return worst
