"""Which command is meant: the list of commands, the help of the whole, and the default."""

from __future__ import annotations

import argparse
import importlib
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import Path
from types import ModuleType
from typing import Any, NoReturn, Protocol

from rich_argparse import RawDescriptionRichHelpFormatter

from engine.errors import FileError
from tui.cli.guard import heed_termination
from tui.cli.say import harmless

#: The commands under their headings, each a module of this package.
GROUPS: dict[str, tuple[str, ...]] = {
    "harmony": ("chord", "analyse", "key", "suggest"),
    "the part": ("arrange", "check", "figure", "transpose"),
    "sound and paper": ("play", "render", "lesson", "import", "doctor"),
}
_MODULES = {"import": "import_"}  # a module cannot be named by a keyword
SOUND_HELP = (
    "where it sounds: auto, none, file:OUT.wav or midi:PORT (default: auto); "
    "midi: alone is the first instrument plugged in"
)


def add_choice(
    parser: argparse.ArgumentParser, option: str, words: Iterable[str], **options: Any
) -> None:
    """An option that takes one of these words, in small letters or capitals."""
    known = {word.casefold(): word for word in words}

    def read(text: str) -> str:
        return known.get(text.strip().casefold(), text)

    parser.add_argument(option, choices=tuple(known.values()), type=read, **options)


class Commands(Protocol):
    """What a command's `add` describes itself to: argparse's subparsers."""

    def add_parser(self, name: str, **options: Any) -> argparse.ArgumentParser: ...


class Parser(argparse.ArgumentParser):
    """A parser whose help is laid out as this program's helps are."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("formatter_class", RawDescriptionRichHelpFormatter)
        super().__init__(**options)

    def error(self, message: str) -> NoReturn:
        super().error(harmless(message))


class _Helps(dict[str, str]):
    """Collects what each command says of itself in a line."""

    def add_parser(self, name: str, **options: Any) -> argparse.ArgumentParser:
        self[name] = options["help"]
        return argparse.ArgumentParser()


def commands() -> tuple[str, ...]:
    """The names of the commands."""
    return tuple(name for group in GROUPS.values() for name in group)


def _load(name: str) -> ModuleType:
    return importlib.import_module(f"tui.cli.{_MODULES.get(name, name)}")


def dispatch(argv: list[str]) -> int:
    """Run the command that the arguments name, or open the workshop."""
    if argv and argv[0] in commands():
        parser = Parser(prog="alberti")
        heed_termination()
        command = _load(argv[0])
        command.add(parser.add_subparsers(parser_class=Parser, metavar="COMMAND"))
        status: int = command.run(parser.parse_args(_signed(argv)))
        return status
    if argv:
        _refuse_misspelt(argv[0])
    args = _whole(with_commands="-h" in argv or "--help" in argv).parse_args(argv)
    from tui.cli import workshop

    return workshop.run(args.song, args.sound)


def _signed(argv: list[str]) -> list[str]:
    """The arguments with a falling interval joined to its option, which else looks like one."""
    joined: list[str] = []
    for argument in argv:
        if joined and joined[-1] == "--by" and argument.startswith("-"):
            joined[-1] = f"--by={argument}"
        else:
            joined.append(argument)
    return joined


def sound_choice(text: str) -> str:
    """A `--sound` value. Raises ArgumentTypeError."""
    device, mark, name = text.partition(":")
    device = device.strip().lower()
    if device == "midi" or (name if device == "file" else device in ("auto", "none") and not name):
        return device + mark + name
    raise argparse.ArgumentTypeError(f"“{text}”: write auto, none, file:OUT.wav or midi:PORT")


def _refuse_misspelt(word: str) -> None:
    """Raise FileError for a word that is no file but nearly a command."""
    near = get_close_matches(word, commands(), n=1, cutoff=0.7)
    if near and not Path(word).exists():
        raise FileError(
            f"there is no command or file “{word}”", f"did you mean “alberti {near[0]}”?"
        )


def _whole(*, with_commands: bool) -> argparse.ArgumentParser:
    """The parser of the workshop, whose help lists the commands."""
    from importlib.metadata import version

    parser = Parser(
        prog="alberti",
        usage="alberti [SONG] [--sound WHERE]\n       alberti COMMAND …",
        description="A chord progression in, a broken-chord piano part out.\n"
        "With a song file, or with none, the workshop opens.",
        epilog=_command_list() if with_commands else None,
    )
    parser.add_argument("song", nargs="?", metavar="SONG", help="the song file to open")
    parser.add_argument(
        "--sound", default="auto", type=sound_choice, metavar="WHERE", help=SOUND_HELP
    )
    parser.add_argument("--version", action="version", version=f"alberti {version('alberti')}")
    return parser


def _command_list() -> str:
    helps = _Helps()
    for name in commands():
        _load(name).add(helps)
    lines = []
    for heading, names in GROUPS.items():
        lines += [f"Commands, {heading}:", *(f"  {name:<11}{helps[name]}" for name in names), ""]
    lines.append("“alberti COMMAND --help” says more of one; - stands for standard input.")
    return "\n".join(lines)
