"""`alberti play`: a song sounds in real time, without the screen."""

from __future__ import annotations

import argparse
import sys
import time
from fractions import Fraction
from typing import TYPE_CHECKING

from tui.cli.frame import SOUND_HELP, sound_choice
from tui.cli.guard import BAD_INPUT
from tui.cli.say import say, say_json, tell
from tui.cli.songs import add_json, add_songs, open_song
from tui.cli.sounding import add_stretch, performed, read_stretch

if TYPE_CHECKING:
    from engine.play import Player
    from tui.cli.frame import Commands

_LOOK = 0.05


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "play",
        help="play a song without the screen",
        description="Play a song in real time; Ctrl-C stops. What sounds is said on one line.",
    )
    add_songs(parser)
    add_stretch(parser)
    parser.add_argument("--loop", action="store_true", help="again and again, until Ctrl-C")
    parser.add_argument(
        "--sound", default="auto", type=sound_choice, metavar="WHERE", help=SOUND_HELP
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    from engine.arrange import arrange
    from engine.harmony import analyse
    from engine.play import Options, Player

    song = open_song(args.song).song
    stretch = read_stretch(args, song)
    performance, score = performed(song, arrange(song, analyse(song)), stretch)
    player = Player.open(args.sound)
    try:
        player.wait_ready()
        if player.notice:
            tell(f"alberti: {player.notice}")
            if args.sound != "auto":
                return BAD_INPUT
        player.load(score)
        player.change(Options(click=stretch.click))
        loop = (Fraction(0), score.end) if args.loop else None
        player.play(loop=loop, count_in=stretch.count_in)
        bars = {bar.start: bar.number for bar in song.bars}
        starts = [bars[performance.start + start] for start, _, _ in score.bars]
        _follow(player, [float(start) for start, _, _ in score.bars], starts, as_json=args.json)
    except KeyboardInterrupt:
        player.stop()
    finally:
        player.close()
    return 0


def _follow(player: Player, starts: list[float], numbers: list[int], *, as_json: bool) -> None:
    """Wait for the end; in a terminal or as JSON, say which bar sounds."""
    from engine.play import State

    shown = ""
    began = time.monotonic()
    while True:
        where = player.where()
        if where.state is State.STOPPED and time.monotonic() - began > 0.5:
            break
        bar = max((n for s, n in zip(starts, numbers, strict=True) if s <= where.place), default=1)
        line = f"bar {bar}" if where.state is State.PLAYING else f"count-in {where.beats_left}"
        if where.pass_number > 1:
            line += f", pass {where.pass_number}"
        if as_json:
            if line != shown and where.state is State.PLAYING:
                say_json({"bar": bar, "pass": where.pass_number})
                sys.stdout.flush()
                shown = line
        elif line != shown and sys.stdout.isatty():
            print(f"\r{line:<40}", end="", flush=True)
            shown = line
        time.sleep(_LOOK)
    if shown and not as_json:
        say()
