"""`alberti key`: the key of a song from its chords alone."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tui.cli.say import ascii_signs, say, say_json
from tui.cli.songs import Source, add_json, add_songs, each_song

if TYPE_CHECKING:
    from tui.cli.frame import Commands


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
        found, written = find_key(source.song), source.song.key
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
        if found.others:
            rivals = ", ".join(f"{key.symbol} {confidence:.0%}" for key, confidence in found.others)
            say(f"  or {rivals}")
        if (written.tonic.pc, written.is_minor) != (found.key.tonic.pc, found.key.is_minor):
            say(f"  the file says {written.symbol}")
        for region in found.regions:
            bars = f"bars {region.first}–{region.last}"
            say(f"  {bars}: {region.key.symbol}" + (f", {region.how}" if region.how else ""))
        return 0

    return each_song(args.songs, one)
