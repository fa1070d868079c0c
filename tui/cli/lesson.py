"""`alberti lesson`: the sheets for pupils, players and singers, as PDF, Markdown or text."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import FileError
from engine.whole import whole_file
from tui.cli.frame import add_choice
from tui.cli.say import say_written
from tui.cli.songs import add_json, add_songs, open_song

if TYPE_CHECKING:
    from engine.exchange.sheets.plan import Practised
    from engine.harmony import Reading
    from engine.song import Song
    from tui.cli.frame import Commands

SHEETS = {
    "lesson": "chords, figures, skeleton, hardest bars, practice plan and score",
    "lead": "melody, or slashes, with chord symbols",
    "chart": "the chords by bar and beat, with numerals",
    "figures": "each figure on one chord, in the progression and in a second key",
    "singer": "the song in three keys with range and starting note",
}
PAPERS = ("A4", "Letter")
#: The endings a sheet can be written as.
ENDINGS = {"lesson": (".pdf", ".md"), "chart": (".pdf", ".txt")}
PDF = (".pdf",)


def sheet_of(path: Path) -> str:
    """The sheet that a file's name asks for (`song.lead.pdf`, `song.md`), or nothing."""
    *_, inner, ending = ("", "", *path.suffixes)
    if inner[1:].lower() in SHEETS:
        return inner[1:].lower()
    return {".md": "lesson", ".txt": "chart"}.get(ending.lower(), "")


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "lesson",
        help="write the lesson sheet, or another sheet for pupil, player or singer",
        description="Write a sheet: " + "; ".join(f"{k}: {v}" for k, v in SHEETS.items()) + ".",
    )
    add_songs(parser)
    parser.add_argument(
        "-o", "--output", required=True, metavar="FILE",
        help="the file to write: .pdf; a lesson sheet also as .md, a chord chart as .txt",
    )  # fmt: skip
    add_choice(
        parser, "--sheet", SHEETS,
        help="which sheet (default: as the file's name says, like song.lead.pdf, or lesson)",
    )  # fmt: skip
    add_choice(parser, "--paper", PAPERS, default="A4", help="the paper (default: A4)")
    parser.add_argument(
        "--practised", metavar="SONG",
        help="the song file whose clean tempos a lesson sheet prints (default: the song itself)",
    )  # fmt: skip
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    path = Path(args.output)
    ending = path.suffix.lower()
    sheet = args.sheet or sheet_of(path) or "lesson"
    known = ENDINGS.get(sheet, PDF)
    if ending not in known:
        wrong = f"a {sheet} sheet is not written as “{ending}”"
        raise FileError(
            f"“{args.output}”: {wrong}" if ending else f"“{args.output}” has no ending",
            f"end its name in {' or '.join(known)}; “alberti render” writes scores and sound",
        )
    from engine.harmony import analyse
    from engine.workshop.practised import practised_in

    song = open_song(args.song).song
    practised = practised_in(args.practised or args.song, song)
    data = _made(sheet, ending, song, analyse(song), args.paper, practised)
    with whole_file(path) as part:
        part.write_bytes(data)
    say_written(path, len(data), as_json=args.json)
    return 0


def _made(
    sheet: str,
    ending: str,
    song: Song,
    reading: Reading,
    paper: str,
    practised: tuple[Practised, ...],
) -> bytes:
    from engine import exchange
    from engine.arrange import arrange
    from engine.exchange import typeset

    size = typeset.PAPERS[paper]
    if ending == ".txt":
        return exchange.chord_text(song).encode()
    if ending == ".md":
        return exchange.lesson_markdown(song, reading, arrange(song, reading), practised).encode()
    makers: dict[str, Callable[[], bytes]] = {
        "lesson": lambda: exchange.lesson_pdf(
            song, reading, arrange(song, reading), practised=practised, paper=size
        ),
        "lead": lambda: exchange.lead_sheet_pdf(song, reading, paper=size),
        "chart": lambda: exchange.chord_chart_pdf(song, reading, paper=size),
        "figures": lambda: exchange.figure_sheet_pdf(
            song, reading, arrange(song, reading), paper=size
        ),
        "singer": lambda: exchange.singers_pack_pdf(song, paper=size),
    }
    return makers[sheet]()
