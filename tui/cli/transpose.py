"""`alberti transpose`: a song in another key, by name, by interval, or to suit a voice."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING

from engine.errors import KeyNameError, Place, SongError
from engine.key import Key
from engine.pitch import NOTE_PATTERN, Interval, Note
from engine.song import Song, interval_to, read_range, transpose, voice_keys, write_song
from tui.cli.guard import FINDINGS
from tui.cli.say import tell
from tui.cli.songs import add_json, add_songs, open_song, put, put_json

if TYPE_CHECKING:
    from tui.cli.frame import Commands


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "transpose",
        help="write the song in another key, or one for a singer",
        description="Write the song in another key: a named one, an interval away, or the one in "
        "which the melody lies best in a voice's range. The exit status is 1 if no key holds the "
        "whole melody; the nearest is written.",
    )
    add_songs(parser)
    way = parser.add_mutually_exclusive_group(required=True)
    way.add_argument("--to", metavar="KEY", help="the new key of the song, like “F major” or “Dm”")
    way.add_argument(
        "--by", metavar="INTERVAL", help="an interval, like m3 or -M2, or semitones, like -2"
    )
    way.add_argument("--voice", metavar="LOW-HIGH", help="the singer's range, like A3-D5")
    parser.add_argument("-o", dest="output", metavar="FILE", help="where to (default: print it)")
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    source = open_song(args.song)
    song = source.song
    status = 0
    if args.to is not None:
        interval = interval_to(song.key, _tonic(args.to, song))
    elif args.by is not None:
        interval = Interval.parse(args.by)
    else:
        interval, status = _for_voice(song, args.voice)
    moved = transpose(song, interval)
    text = write_song(moved, source.text)
    if args.json:
        put_json(text, args.output, {"key": moved.key.name, "interval": interval.name})
    else:
        put(text, args.output)
    return status


def _for_voice(song: Song, text: str) -> tuple[Interval, int]:
    """The interval to the best key, and 1 where not even that holds the whole melody.

    Raises PitchError for what is no range, SongError for a song without a melody.
    """
    low, high = read_range(text)
    best = voice_keys(song, low, high, count=1)[0]
    if best.low is None or best.high is None:
        raise SongError(
            "the song has no melody to fit to a voice",
            "write one in a section (melody = with ABC notes), or name the key with --to",
        )
    if best.fits:
        return best.interval, 0
    span = best.high.midi - best.low.midi
    tell(
        f"the melody spans {span} semitones and {text.strip()} {high - low}: no key holds it "
        f"whole; the nearest is {best.key}. {best.says}"
    )
    return best.interval, FINDINGS


def _tonic(text: str, song: Song) -> Note:
    """The tonic that `--to` names. Raises KeyNameError, also for a key of another mode."""
    alone = text.strip()[:1].upper() + text.strip()[1:]
    if re.fullmatch(NOTE_PATTERN, alone):
        return Note.parse(alone)
    key = Key.parse(text)
    if key.mode != song.key.mode:
        raise KeyNameError(
            f"the song is in {song.key}, and a transposition to {key} would change its mode",
            f"name a {song.key.mode} key, like {Key(key.tonic, song.key.mode)}",
            Place(1, len(text), text=text),
        )
    return key.tonic
