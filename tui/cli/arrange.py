"""`alberti arrange`: the part that a song's chords and figures make, as notes."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from engine.errors import SongError
from tui.cli.guard import FINDINGS
from tui.cli.say import say, say_json, say_table
from tui.cli.songs import add_json, add_songs, open_song

if TYPE_CHECKING:
    from engine.hands import Difficulty
    from engine.part import Finding, Part
    from engine.song import Song
    from tui.cli.frame import Commands


def add(commands: Commands) -> None:
    parser = commands.add_parser(
        "arrange",
        help="make the part for both hands",
        description="Make the part for both hands. In JSON onset and duration are in whole notes "
        "from the song's start, a note is one attack with its whole length, and tied says that it "
        "is held over a bar line. The exit status is 1 if the part breaks a rule.",
    )
    add_songs(parser)
    parser.add_argument(
        "--take", type=int, metavar="N", help="which variation (default: the song's)"
    )
    parser.add_argument(
        "--seed", type=int, default=0, metavar="N", help="another series of takes (default: 0)"
    )
    add_json(parser)


def run(args: argparse.Namespace) -> int:
    from engine.arrange import arrange, check
    from engine.hands import difficulty
    from engine.harmony import analyse

    if args.take is not None and args.take < 1:
        raise SongError(f"take is {args.take}", "write a number from 1")
    source = open_song(args.song)
    reading = analyse(source.song)
    part = arrange(source.song, reading, take=args.take, seed=args.seed)
    findings = [each for each in check(source.song, reading, part) if not each.waived]
    if args.json:
        say_json(
            {
                "notes": notes(part),
                "pedal": [{"onset": str(mark.onset), "down": mark.down} for mark in part.pedal],
                "findings": records(findings),
            }
        )
    else:
        show_part(source.song, part)
        show_difficulty(difficulty(part.notes, source.song))
        show_findings(findings)
    return FINDINGS if findings else 0


def notes(part: Part) -> list[dict[str, Any]]:
    return [
        {
            "bar": note.bar,
            "hand": str(note.hand),
            "pitch": note.pitch.name,
            "midi": note.pitch.midi,
            "onset": str(note.onset),
            "duration": str(note.duration),
            "tied": note.tied,
            "role": str(note.role),
            "velocity": note.velocity,
            "finger": note.finger,
        }
        for note in part.notes
    ]


def records(findings: list[Finding]) -> list[dict[str, Any]]:
    return [{"bar": each.bar, "rule": each.rule, "text": each.text} for each in findings]


def show_findings(findings: list[Finding]) -> None:
    for each in findings:
        say(f"bar {each.bar}: {each.rule}: {each.text}")


def show_difficulty(grades: Difficulty) -> None:
    """The grade, and the hardest bars with what makes them hard."""
    say(f"difficulty: grade {grades.grade} of 9")
    for each in grades.hardest:
        say(f"bar {each.bar}: grade {each.grade:.1f}, {', '.join(each.reasons)}")


def show_part(song: Song, part: Part) -> None:
    """A line a bar: its chords, what each hand plays, and how loud."""
    say(f"{song.title or 'Untitled'}: {song.key.symbol}, {song.meter}, {song.tempo:g} a minute")
    marks = {each.onset: each.mark for each in part.dynamics if each.mark.isalpha()}
    rows = []
    for bar in song.bars:
        first = bar.in_section == 1
        hands = {
            hand: " ".join(
                note.pitch.symbol
                for note in part.notes
                if note.bar == bar.number and note.hand == hand
            )
            for hand in ("left", "right")
        }
        rows.append(
            (
                song.sections[bar.section].name if first else "",
                str(bar.number),
                " ".join(slot.chord.pretty if slot.chord else slot.typed for slot in bar.slots),
                marks.get(bar.start, ""),
                hands["left"],
                hands["right"],
            )
        )
    say_table(("section", "bar", "chords", "dynamics", "left hand", "right hand"), rows)
