"""`alberti [SONG]`: the workshop on the screen, or in print where there is no terminal."""

from __future__ import annotations

import gc
import sys

from engine.errors import FileError, Place
from tui.cli.say import say, tell


def run(song: str | None, sound: str) -> int:
    """Open the workshop; without a terminal, print the song's chart and say why."""
    if sys.stdin.isatty() and sys.stdout.isatty():
        gc.disable()  # until the first part is made: start-up leaves nothing to collect
        from tui.opening import run as open_workshop

        return open_workshop(song, sound)
    if song is None:
        raise FileError(
            "the workshop needs a terminal, and there is none here",
            "start it in a terminal, name a song to print its chart, or see “alberti --help”",
            Place(file="standard output"),
        )
    return _print(song)


def _print(name: str) -> int:
    from engine.arrange import arrange
    from engine.harmony import analyse
    from tui.cli.chart import chart_lines
    from tui.cli.overview import overview_lines
    from tui.cli.songs import open_song

    source = open_song(name)
    tell("alberti: the workshop needs a terminal, and there is none here; the song is printed.")
    reading = analyse(source.song)
    part = arrange(source.song, reading)
    for line in chart_lines(source.song, reading):
        say(line)
    for line in overview_lines(source.song, part):
        say(line)
    return 0
