"""`alberti render`: the song as a file to hear, to read or to open elsewhere, by its ending."""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

from engine.errors import FileError, InputError
from engine.whole import whole_file
from tui.cli.frame import add_choice
from tui.cli.lesson import ENDINGS as SHEET_ENDINGS
from tui.cli.lesson import PAPERS, PDF, sheet_of
from tui.cli.say import harmless, say, say_json, say_written, tell
from tui.cli.songs import add_json, add_songs, open_song
from tui.cli.sounding import Stretch, add_stretch, performed, read_stretch

if TYPE_CHECKING:
    from engine.harmony import Reading
    from engine.part import Part
    from engine.song import Song
    from tui.cli.frame import Commands

AUDIO = (".wav", ".flac", ".ogg")
ENDINGS = (".mid", ".musicxml", ".mxl", ".svg", ".png", ".pdf", *AUDIO)


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "render",
        help="write the part as sound, MIDI or a score",
        description=f"Write the part to a file; its ending says as what: {' '.join(ENDINGS)}.",
    )
    add_songs(parser)
    parser.add_argument("-o", "--output", required=True, metavar="FILE", help="the file to write")
    add_stretch(parser)
    add_choice(parser, "--paper", PAPERS, default="A4", help="a score's paper (default: A4)")
    parser.add_argument(
        "--progress",
        action="store_true",
        help='say for each per cent of a sound that it is done: 25 %%, or {"done": 0.25}',
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    path = _target(args.output)
    ending = path.suffix.lower()
    from engine.arrange import arrange
    from engine.harmony import analyse

    song = open_song(args.song).song
    stretch = read_stretch(args, song)
    reading = analyse(song)
    part = arrange(song, reading)
    if ending in AUDIO:
        told = _Told(as_json=args.json) if args.progress else None
        return _audio(song, part, stretch, path, told, as_json=args.json)
    if ending == ".mid":
        _write(path, _midi(song, part, stretch), as_json=args.json)
    else:
        _refuse_clicks(ending, stretch)
        pages = _paper(ending, stretch.paced(song), reading, part, stretch, args.paper)
        _write_pages(path, pages, as_json=args.json)
    return 0


def _target(output: str) -> Path:
    """The file to write, whose ending is known. Raises InputError or FileError."""
    endings = f"{', '.join(ENDINGS[:-1])} or {ENDINGS[-1]}"
    if not output:
        raise InputError("-o names no file", f"name one that ends in {endings}")
    if output == "-":
        raise InputError(
            "scores and sound are not written to the standard output",
            f"name a file that ends in {endings}",
        )
    path = Path(output)
    ending = path.suffix.lower()
    sheet = sheet_of(path)
    if sheet and ending in SHEET_ENDINGS.get(sheet, PDF):
        raise FileError(
            f"“{output}” is the name of a sheet ({sheet}), and render writes scores",
            f"'alberti lesson SONG -o {output}' writes it",
        )
    if ending not in ENDINGS:
        known = f"nothing is known of files ending in “{ending}”"
        raise FileError(
            f"“{output}”: {known}" if ending else f"“{output}” has no ending",
            f"end its name in {endings}",
        )
    return path


def _refuse_clicks(ending: str, stretch: Stretch) -> None:
    """A score holds no clicks: say so rather than leave them out. Raises InputError."""
    asked = ["--click"] * stretch.click + ["--count-in"] * bool(stretch.count_in)
    if asked:
        raise InputError(
            f"{' and '.join(asked)} cannot be put on paper ({ending})",
            f"leave it out, or end the file's name in .mid, {', '.join(AUDIO)}",
        )


def _midi(song: Song, part: Part, stretch: Stretch) -> bytes:
    from engine.exchange.midi_write import write_midi

    performance, _ = performed(song, part, stretch, timing=False)
    return write_midi(song, performance, click=stretch.click, count_in=stretch.count_in)


def _paper(
    ending: str, song: Song, reading: Reading, part: Part, stretch: Stretch, paper: str
) -> list[bytes]:
    """The score as files, one a page where a file holds one page."""
    from engine import exchange
    from engine.exchange import typeset

    if not stretch.melody:
        bare = tuple(replace(section, melody=None) for section in song.sections)
        song = replace(song, sections=bare)
    options: dict[str, Any] = {"bars": stretch.bars, "hands": stretch.hands}
    if ending == ".musicxml":
        return [exchange.write_musicxml(song, reading, part, **options)]
    if ending == ".mxl":
        return [exchange.write_mxl(song, reading, part, **options)]
    options["paper"] = typeset.PAPERS[paper]
    if ending == ".pdf":
        return [exchange.engrave_pdf(song, reading, part, **options)]
    if ending == ".png":
        return exchange.engrave_png(song, reading, part, **options)
    return [page.encode() for page in exchange.engrave_svg(song, reading, part, **options)]


def _write_pages(path: Path, pages: list[bytes], *, as_json: bool) -> None:
    """One file, or one a page, numbered before the ending."""
    for number, page in enumerate(pages, 1):
        one = path if len(pages) == 1 else path.with_stem(f"{path.stem}-{number}")
        _write(one, page, as_json=as_json)


def _write(path: Path, data: bytes, *, as_json: bool) -> None:
    with whole_file(path) as part:
        part.write_bytes(data)
    say_written(path, len(data), as_json=as_json)


def _audio(
    song: Song, part: Part, stretch: Stretch, path: Path, told: _Told | None, *, as_json: bool
) -> int:
    """Render sound, with a progress bar in a terminal; Ctrl-C leaves no file behind."""
    from engine.play.render import Plan, Tags, render
    from engine.play.soundfont import usable
    from engine.play.transport import Options

    _, score = performed(song, part, stretch)
    soundfont, wrong = usable()
    for problem in wrong:
        tell(f"alberti: {problem}; {soundfont} is used")
    plan = Plan(str(soundfont), Options(click=stretch.click), stretch.count_in)
    tags = Tags(song.title, song.composer, _comment(song, stretch))
    with _Bar(path.name) as bar:
        done = render(score, path, plan, tags, told.show if told else bar.show)
    if as_json:
        record = {"seconds": round(done.seconds, 3), "peak": round(done.peak, 4)}
        say_json({"file": str(path), **record, "soundfont": soundfont.name})
    else:
        say(f"{path}: {done.seconds:.1f} s, peak {done.peak:.2f} of full scale, {soundfont.name}")
    return 0


def _comment(song: Song, stretch: Stretch) -> str:
    hands = "both hands" if len(stretch.hands) == 2 else f"{stretch.hands[0]} hand"
    bars = f", bars {stretch.bars[0]}–{stretch.bars[1]}" if stretch.bars else ""
    sung = any(section.melody for section in song.sections) and not stretch.melody
    without = ", without the melody" if sung else ""
    return f"{stretch.tempo(song):g} beats a minute, {hands}{without}{bars}"


class _Told:
    """A line on standard output for each per cent that is done."""

    def __init__(self, *, as_json: bool) -> None:
        self._as_json = as_json
        self._last = 0

    def show(self, share: float) -> bool:
        cent = int(100 * share)
        if cent != self._last:
            self._last = cent
            if self._as_json:
                say_json({"done": cent / 100})
            else:
                say(f"{cent} %")
            sys.stdout.flush()
        return True


class _Bar:
    """A progress bar on a terminal's standard error; nothing elsewhere."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._progress: object = None

    def __enter__(self) -> Self:
        if sys.stderr.isatty():
            from rich.console import Console
            from rich.markup import escape
            from rich.progress import Progress

            self._progress = Progress(console=Console(stderr=True), transient=True)
            self._task = self._progress.add_task(escape(harmless(self._name)), total=1.0)
            self._progress.start()
        return self

    def show(self, share: float) -> bool:
        from rich.progress import Progress

        if isinstance(self._progress, Progress):
            self._progress.update(self._task, completed=share)
        return True

    def __exit__(self, *_: object) -> None:
        from rich.progress import Progress

        if isinstance(self._progress, Progress):
            self._progress.stop()
