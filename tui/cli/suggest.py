"""`alberti suggest`: other chords for open bars, a bar or a stretch, or the whole song moved."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from engine.errors import SongError
from tui.cli.say import ascii_signs, number, say, say_json, say_table
from tui.cli.songs import STANDARD_INPUT, Source, add_json, add_songs, open_song, put, put_json
from tui.cli.sounding import read_bars

if TYPE_CHECKING:
    from engine.harmony import Reading
    from engine.reharm import SpanSuggestion, Suggestion
    from engine.song import Bar, Song
    from tui.cli.frame import Commands

_COUNT, _PATHS, _FAR = 8, 5, 0.5


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "suggest",
        help="other chords, ranked, each with its reason",
        description="Chords for every open bar (?) of a song, other chords for each place of one "
        "bar, or paths through a stretch of bars, best first, each with its reason; or the "
        "whole song another way, which -o writes as a song file.",
    )
    add_songs(parser)
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--bar", type=int, metavar="N", help="one bar, counted from 1")
    where.add_argument("--bars", metavar="A-B", help="paths through these bars, taken together")
    where.add_argument(
        "--whole", metavar="HOW",
        help="the whole song another way: simpler, richer, darker, other-mode or new-bass",
    )  # fmt: skip
    parser.add_argument(
        "-o", "--output", metavar="SONG", help="with --whole: the song file to write"
    )
    parser.add_argument(
        "--count", type=int, metavar="K",
        help=f"how many for each place (default: {_COUNT}, of paths {_PATHS})",
    )  # fmt: skip
    parser.add_argument(
        "--far", type=float, metavar="F",
        help=f"how far from the present harmony, 0 near to 1 far (default: {_FAR})",
    )  # fmt: skip
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    from engine.harmony import analyse
    from engine.reharm import suggest, suggest_span

    if args.count is not None and args.count < 1:
        raise SongError(f"{args.count} suggestions is none", "ask for one or more: --count 8")
    if args.far is not None and not 0 <= args.far <= 1:
        raise SongError(f"--far {args.far:g} is no distance", "write 0 for near to 1 for far")
    if args.output is not None and args.whole is None:
        raise SongError("-o writes the whole song another way", "say how: --whole richer")
    if args.whole is not None and (args.far is not None or args.count is not None):
        raise SongError("a whole song moves one way", "leave out --far and --count")
    far = _FAR if args.far is None else args.far
    source = open_song(args.song)
    if args.whole is not None:
        _move(source, args.whole, args.output, as_json=args.json)
        return 0
    if args.bars is not None:
        first, last = read_bars(args.bars, source.song)
        reading = analyse(source.song)
        paths = suggest_span(source.song, reading, first, last, args.count or _PATHS, dial=far)
        if args.json:
            _record_paths(first, last, paths)
        else:
            _show_paths(source.song, first, last, paths)
        return 0
    places = _places(source.song, args.bar)
    if not places and not args.json:
        say("No bar is open: write ? in one, or name a bar with --bar.")
    known: Reading | None = analyse(source.song) if places else None
    for bar, slot in places:
        found = suggest(source.song, known, bar.number, slot, count=args.count or _COUNT, dial=far)
        (_record if args.json else _show)(bar, slot, found)
    return 0


def _move(source: Source, how: str, output: str | None, *, as_json: bool) -> None:
    """Say which bars a move of the whole song changes, or write it. Raises SongError."""
    from engine.harmony import analyse
    from engine.reharm import MOVES
    from engine.song import sounding_text, write_song

    move = next((each for each in MOVES if each.name == how.strip().casefold()), None)
    if move is None:
        *names, last = (each.name for each in MOVES)
        raise SongError(
            f"“{how}” is no way to move a whole song", f"write {', '.join(names)} or {last}"
        )
    song = source.song
    moved = move.apply(song, analyse(song))
    texts = [
        (n, sounding_text(song, n), sounding_text(moved, n)) for n in range(1, len(song.bars) + 1)
    ]
    changed = [each for each in texts if each[1] != each[2]]
    if as_json:
        bars = [{"bar": n, "from": before, "to": after} for n, before, after in changed]
        put_json(write_song(moved, source.text), output, {"move": move.name, "bars": bars})
        return
    if output is not None:
        put(write_song(moved, source.text), output)
    if output != STANDARD_INPUT:
        say(f"{move.name}: {move.says}")
        say_table(("bar", "stands", "becomes"), [(str(n), a, b) for n, a, b in changed])


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
    from engine.harmony import display_numeral

    at = bar.slots[slot or 0]
    stands = at.typed or "nothing"
    say(f"Bar {bar.number}, beat {number(bar.beat_of(at.onset))} ({stands} stands there):")
    if not found:
        say("No chord is free of a semitone against the melody’s held notes.")
        return
    say_table(
        ("chord", "numeral", "technique", "why"),
        [
            (each.pretty, display_numeral(each.roman), str(each.technique), each.why)
            for each in found
        ],
    )


def _record_paths(first: int, last: int, found: tuple[SpanSuggestion, ...]) -> None:
    suggestions: list[dict[str, Any]] = [
        {
            "symbol": each.symbol,
            "roman": each.roman,
            "name": each.name,
            "score": round(each.score, 4),
            "changed": each.changed,
            "why": ascii_signs(each.why),
        }
        for each in found
    ]
    say_json({"bars": [first, last], "suggestions": suggestions})


def _show_paths(song: Song, first: int, last: int, found: tuple[SpanSuggestion, ...]) -> None:
    there = " | ".join(
        " ".join(slot.typed for slot in bar.slots) for bar in song.bars[first - 1 : last]
    )
    say(f"Bars {first}–{last} ({there}):")
    say_table(
        ("way", "chords", "why"),
        [(each.name, each.pretty, each.why) for each in found],
    )
