"""`alberti check`: the rules of the craft that a song's part does not keep."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tui.cli.arrange import records, show_findings
from tui.cli.guard import FINDINGS
from tui.cli.say import say, say_json
from tui.cli.songs import add_json, add_songs, open_song

if TYPE_CHECKING:
    from tui.cli.frame import Commands


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "check",
        help="say where the part breaks a rule",
        description="Say where the part breaks a rule; the exit status is 1 if it does. "
        "Rules that the file waives for a bar are shown with their reason and don't count.",
    )
    add_songs(parser)
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    from engine.arrange import arrange, check
    from engine.harmony import analyse

    source = open_song(args.song)
    reading = analyse(source.song)
    found = check(source.song, reading, arrange(source.song, reading))
    findings = [each for each in found if not each.waived]
    if args.json:
        say_json({"findings": records(findings)})
    else:
        show_findings(findings)
        for each in found:
            if each.waived:
                say(f"bar {each.bar}: {each.rule}: waived, {each.waived}")
        if not findings:
            say("No rule is broken.")
    return FINDINGS if findings else 0
