"""`alberti suggest`: other chords for open bars, or for a named bar."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from engine.errors import SongError
from tui.cli.say import ascii_signs, number, say, say_json, say_table
from tui.cli.songs import add_json, add_songs, open_song

if TYPE_CHECKING:
    from engine.reharm import Suggestion
    from engine.song import Bar, Song
    from tui.cli.frame import Commands


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "suggest",
        help="other chords, ranked, each with its reason",
        description="Chords for every open bar (?) of a song, or other chords for one bar, "
        "best first, each with the technique and the reason.",
    )
    add_songs(parser)
    parser.add_argument("--bar", type=int, metavar="N", help="one bar, counted from 1")
    parser.add_argument(
        "--count", type=int, default=8, metavar="K", help="how many for each place (default: 8)"
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    from engine.harmony import analyse
    from engine.reharm import suggest

    if args.count < 1:
        raise SongError(f"{args.count} suggestions is none", "ask for one or more: --count 8")
    source = open_song(args.song)
    places = _places(source.song, args.bar)
    if not places and not args.json:
        say("No bar is open: write ? in one, or name a bar with --bar.")
    reading = analyse(source.song)
    for bar, slot in places:
        found = suggest(source.song, reading, bar.number, slot, count=args.count)
        (_record if args.json else _show)(bar, slot, found)
    return 0


def _places(song: Song, number: int | None) -> list[tuple[Bar, int | None]]:
    """Each open slot, or each slot of the named bar; None stands for a bar of one slot."""
    from engine.song import SlotKind

    if number is not None and not 1 <= number <= len(song.bars):
        raise SongError(
            f"there is no bar {number}", f"bars are numbered from 1 to {len(song.bars)}"
        )
    bars = song.bars if number is None else (song.bars[number - 1],)
    return [
        (bar, at if len(bar.slots) > 1 else None)
        for bar in bars
        for at, slot in enumerate(bar.slots)
        if number is not None or slot.kind is SlotKind.OPEN
    ]


def _record(bar: Bar, slot: int | None, found: tuple[Suggestion, ...]) -> None:
    suggestions: list[dict[str, Any]] = [
        {
            "symbol": each.symbol,
            "roman": each.roman,
            "technique": str(each.technique),
            "score": round(each.score, 4),
            "why": ascii_signs(each.why),
        }
        for each in found
    ]
    beat = number(bar.beat_of(bar.slots[slot or 0].onset))
    say_json({"bar": bar.number, "beat": beat, "suggestions": suggestions})


def _show(bar: Bar, slot: int | None, found: tuple[Suggestion, ...]) -> None:
    at = bar.slots[slot or 0]
    stands = at.typed or "nothing"
    say(f"Bar {bar.number}, beat {number(bar.beat_of(at.onset))} ({stands} stands there):")
    say_table(
        ("chord", "numeral", "technique", "why"),
        [
            (each.pretty, each.roman.replace("#", "♯").replace("b", "♭"), str(each.technique),
             each.why)
            for each in found
        ],
    )  # fmt: skip
