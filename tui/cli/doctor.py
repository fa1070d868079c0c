"""`alberti doctor`: what it finds for sound, MIDI and the terminal, and how to mend what lacks."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tui.cli.guard import FINDINGS
from tui.cli.say import say, say_json
from tui.cli.songs import add_json

if TYPE_CHECKING:
    from tui.cli.frame import Commands


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "doctor",
        help="say what is there for sound, and how to mend what is missing",
        description="Look at the synthesizer library, soundfonts, sound devices, MIDI ports and "
        "the terminal. The exit status is 1 where something needed is missing.",
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    from engine.play.doctor import examine, verdict

    facts = examine()
    for fact in facts:
        if args.json:
            record = {"topic": fact.topic, "good": fact.good, "serious": fact.serious}
            say_json({**record, "text": fact.text, "cures": list(fact.cures)})
            continue
        mark = "ok" if fact.good else ("missing" if fact.serious else "no")
        say(f"{fact.topic:<10}{mark:<9}{fact.text}")
        for cure in fact.cures:
            say(f"{'':<19}to mend it: {cure}")
    if not args.json:
        say()
        say(verdict(facts))
    return FINDINGS if any(fact.serious and not fact.good for fact in facts) else 0
