"""What `play` and `render` share: which bars and hands, how fast, click and count-in."""

from __future__ import annotations

import argparse
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from engine.errors import InputError
from tui.cli.frame import add_choice

if TYPE_CHECKING:
    from engine.part import Part
    from engine.perform import Performance
    from engine.play import Score
    from engine.song import Hand, Song

_BARS = re.compile(r"(\d+)(?:-(\d+))?")


@dataclass(frozen=True, slots=True)
class Stretch:
    """What is to sound: bars from 1 inclusive or None for all, hands, melody, tempo as a factor."""

    bars: tuple[int, int] | None
    hands: tuple[Hand, ...]
    melody: bool
    factor: float
    click: bool
    count_in: int

    def tempo(self, song: Song) -> float:
        """Beats a minute at the first bar that sounds."""
        return round(_first_tempo(self.bars, song) * self.factor, 3)

    def paced(self, song: Song) -> Song:
        """The song with its tempos as they are to be played, for a score's tempo marks."""
        if self.factor == 1:
            return song
        bars = (replace(bar, tempo=round(bar.tempo * self.factor, 1)) for bar in song.bars)
        return replace(song, bars=tuple(bars))


def add_stretch(parser: argparse.ArgumentParser) -> None:
    """The options that `play` and `render` share."""
    parser.add_argument("--bars", metavar="A-B", help="only these bars, counted from 1")
    parser.add_argument(
        "--tempo",
        type=float,
        metavar="T",
        help="beats a minute at the first bar that sounds; later changes of tempo keep their "
        "proportion to it (default: as written)",
    )
    add_choice(
        parser, "--hands", ("left", "right", "both"), default="both", help="which hands play"
    )
    parser.add_argument(
        "--no-melody", action="store_true", help="without the song's melody, if it has one"
    )
    parser.add_argument("--click", action="store_true", help="with the metronome")
    parser.add_argument("--count-in", action="store_true", help="with a bar counted in")


def read_stretch(args: argparse.Namespace, song: Song) -> Stretch:
    """The stretch that the options ask for. Raises InputError."""
    from engine.song import Hand

    hands = (Hand.LEFT, Hand.RIGHT) if args.hands == "both" else (Hand(args.hands),)
    bars, factor = None if args.bars is None else read_bars(args.bars, song), 1.0
    if args.tempo is not None:
        if not 5 <= args.tempo <= 400:
            raise InputError(f"a tempo of {args.tempo:g} cannot be played", "write 5 to 400")
        factor = args.tempo / _first_tempo(bars, song)
    melody = not args.no_melody
    return Stretch(bars, hands, melody, factor, args.click, int(args.count_in))


def _first_tempo(bars: tuple[int, int] | None, song: Song) -> float:
    return song.bars[bars[0] - 1 if bars else 0].tempo if song.bars else song.tempo


def read_bars(text: str, song: Song) -> tuple[int, int]:
    """The first and last bar of `5-8` or `5`. Raises InputError."""
    last = len(song.bars)
    match = _BARS.fullmatch(text.strip())
    if match is None:
        raise InputError(f"--bars “{text}” is no stretch of bars", "write one like 5-8, or 5")
    low = int(match[1])
    high = int(match[2] or low)
    if not 1 <= low <= high <= last:
        raise InputError(f"there are no bars {text}", f"the song has bars 1 to {last}")
    return low, high


def performed(
    song: Song, part: Part, stretch: Stretch, *, timing: bool = True
) -> tuple[Performance, Score]:
    """The stretch as performed, and its score for the transport."""
    from engine.perform import perform
    from engine.play import score_of

    performance = perform(
        part,
        song,
        hands=stretch.hands,
        melody=stretch.melody,
        timing=timing,
        bars=stretch.bars,
        tempo_scale=stretch.factor,
    )
    return performance, score_of(performance, song, tempo_scale=stretch.factor)
