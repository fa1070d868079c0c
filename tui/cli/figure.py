"""`alberti figure`: the figure that notes are, from a file's bar or typed; the catalogue."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.errors import FigureError, SongError
from engine.song import Hand
from tui.cli.frame import add_choice
from tui.cli.say import say, say_json, say_table, tell
from tui.cli.songs import open_other

if TYPE_CHECKING:
    from engine.figures import Figure
    from tui.cli.frame import Commands


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "figure",
        help="learn a figure from notes, keep it by a name, list the catalogue",
        description="Say what figure the notes of a bar are: of a .mid, .musicxml or .abc file\n"
        "(with --bar), or typed (with --notes and --chord). --keep puts it into your own\n"
        "catalogue, from which the workshop offers it. With nothing, list all figures.",
    )
    parser.add_argument("file", nargs="?", metavar="FILE", help="the file with the notes, or -")
    parser.add_argument(
        "--bar", type=int, default=1, metavar="N", help="which bar of the file (default: 1)"
    )
    parser.add_argument(
        "--notes",
        metavar="NOTES",
        help="a bar's notes in equal time, like “C4 E4 G4 E4”: + joins, . holds, x rests",
    )
    parser.add_argument("--chord", metavar="SYMBOL", help="the chord under the typed notes")
    parser.add_argument("--meter", default="4/4", metavar="METER", help="their meter")
    parser.add_argument("--key", default="C major", metavar="KEY", help="their key")
    add_choice(parser, "--hand", ("right", "left"), help="one hand (default: both)")
    parser.add_argument("--keep", metavar="NAME", help="keep the figure under this name")
    parser.add_argument("--json", action="store_true", help="print JSON, one object a line")


def run(args: argparse.Namespace) -> int:
    if args.file is None and args.notes is None:
        _list(as_json=args.json)
        return 0
    if args.file is not None and args.notes is not None:
        raise SongError("both a file and notes are named", "give one of them")
    found = _typed(args) if args.notes is not None else _of_file(args)
    if args.keep is not None:
        _keep(found, args.keep)
    for figure, missed in found:
        if args.json:
            say_json(
                {
                    "hand": figure.hand.value,
                    "meter": figure.meter.name if figure.meter else "",
                    "tokens": figure.text,
                    "name": figure.name,
                    "missed": missed,
                }
            )
        else:
            notes = "note" if missed == 1 else "notes"
            rest = f"   ({missed} {notes} that no token says)" if missed else ""
            named = f"   = {figure.name}" if figure.name else ""
            say(f"{figure.hand.value} hand: {figure.text}{named}{rest}")
    return 0


def _hands(args: argparse.Namespace) -> tuple[Hand, ...]:
    return (Hand(args.hand),) if args.hand else (Hand.RIGHT, Hand.LEFT)


def _of_file(args: argparse.Namespace) -> list[tuple[Figure, int]]:
    """The figures of a bar of a file that has notes."""
    from engine.figures import find_figure

    song = open_other(args.file).song
    if not 1 <= args.bar <= len(song.bars):
        raise SongError(f"there is no bar {args.bar}", f"bars go from 1 to {len(song.bars)}")
    bar = song.bars[args.bar - 1]
    found = []
    for hand in _hands(args):
        text = bar.settings.right if hand is Hand.RIGHT else bar.settings.left
        if text is not None and text.strip(" x"):
            found.append((find_figure(text, hand, bar.meter), 0))
    if not found:
        raise FigureError(
            f"no figure says what bar {args.bar} plays", "choose a bar of broken chords"
        )
    return found


def _typed(args: argparse.Namespace) -> list[tuple[Figure, int]]:
    """The figure of typed notes over a chord."""
    from engine.chord import parse_chord
    from engine.figures import learn_bar, typed_notes
    from engine.harmony import analyse
    from engine.key import Key
    from engine.meter import Meter
    from engine.song import Section, Settings, build

    if args.chord is None:
        raise SongError("the notes have no chord", "name it with --chord, like --chord Am7")
    meter = Meter.parse(args.meter)
    settings = Settings(key=Key.parse(args.key), meter=meter)
    song = build("", settings, [Section("", f"| {parse_chord(args.chord).symbol} |")])
    hand = Hand(args.hand or "right")
    learned = learn_bar(typed_notes(args.notes, meter), hand, song, analyse(song), 1)
    return [(learned.figure, len(learned.missed))]


def _keep(found: list[tuple[Figure, int]], name: str) -> None:
    from engine.workshop.own_figures import keep_figure, own_figures_file

    if len(found) > 1:
        raise SongError("both hands have a figure there", "say which with --hand right or left")
    figure = found[0][0]
    verb = "written over" if keep_figure(replace(figure, name=name)) else "kept"
    tell(f"{verb} as “{name}” in {own_figures_file()}")


def _list(*, as_json: bool) -> None:
    """Every figure, the writer's own first."""
    from engine.figures import catalogue
    from engine.workshop.own_figures import own_figures

    figures = [*own_figures(), *catalogue()]
    if as_json:
        for each in figures:
            meter = each.meter.name if each.meter else ""
            say_json(
                {"hand": each.hand.value, "meter": meter, "tokens": each.text, "name": each.name}
            )
        return
    rows = [(f.hand.value, f.meter.name if f.meter else "", f.name, f.text) for f in figures]
    say_table(("hand", "meter", "name", "tokens"), rows)
