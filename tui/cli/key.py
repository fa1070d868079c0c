"""`alberti key`: the key of a song from its chords alone."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tui.cli.say import ascii_signs, say, say_json
from tui.cli.songs import Source, add_json, add_songs, each_song

if TYPE_CHECKING:
    from engine.key import Key
    from engine.song import Song
    from tui.cli.frame import Commands


#: A rival that is believed less is not named to people.
LEAST = 0.005


def written_key(song: Song) -> Key:
    """The key that is written where the song begins."""
    return song.bars[0].key if song.bars else song.key


def begins_in(song: Song, key: Key) -> bool:
    """Whether that is a key, or has its tonic and third, however they are spelled."""
    written = written_key(song)
    return (written.tonic.pc, written.is_minor) == (key.tonic.pc, key.is_minor)


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "key",
        help="find a song's key and its modulations from the chords",
        description="Find a song's key and its modulations from the chords alone; "
        "the key written in the file is not looked at, only named where it is another.",
    )
    add_songs(parser, many=True)
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    from engine.harmony import find_key

    def one(source: Source) -> int:
        found = find_key(source.song)
        if args.json:
            say_json(
                {
                    "file": source.name,
                    "key": found.key.name,
                    "confidence": round(found.confidence, 4),
                    "others": [
                        {"key": key.name, "confidence": round(confidence, 4)}
                        for key, confidence in found.others
                    ],
                    "regions": [
                        {
                            "from": region.first,
                            "to": region.last,
                            "key": region.key.name,
                            "confidence": round(region.confidence, 4),
                            "how": ascii_signs(region.how),
                        }
                        for region in found.regions
                    ],
                }
            )
            return 0
        say(f"{source.song.title or source.name}: {found.key.symbol} ({found.confidence:.0%})")
        rivals = [f"{key.symbol} {share:.0%}" for key, share in found.others if share >= LEAST]
        if rivals:
            say(f"  or {', '.join(rivals)}")
        if not begins_in(source.song, found.key):
            say(f"  the file says {written_key(source.song).symbol}")
        for region in found.regions:
            bars = f"bars {region.first}–{region.last}"
            say(f"  {bars}: {region.key.symbol}" + (f", {region.how}" if region.how else ""))
        return 0

    return each_song(args.songs, one)
