"""What a command may ask of the world outside, as values that the screen carries out."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from engine.song import Hand
from engine.workshop.ideas import Ask
from engine.workshop.loop import Loop


@dataclass(frozen=True, slots=True)
class Play:
    """Start playing at a time in whole notes."""

    at: Fraction


@dataclass(frozen=True, slots=True)
class Stop:
    """Stop playing."""


@dataclass(frozen=True, slots=True)
class Strike:
    """Sound what the hands that sound strike at a time in whole notes: step mode."""

    at: Fraction


@dataclass(frozen=True, slots=True)
class Mark:
    """Note a pass of a loop in the practice log; `tempo` where a rung came clean, else 0."""

    loop: Loop
    hands: str
    clean: bool
    tempo: float = 0


@dataclass(frozen=True, slots=True)
class Tap:
    """Take the tempo of the taps, this being one more."""


@dataclass(frozen=True, slots=True)
class Panic:
    """Silence everything."""


@dataclass(frozen=True, slots=True)
class Listen:
    """Listen to the MIDI keyboard; `quiet` says nothing where there is none."""

    quiet: bool = False


@dataclass(frozen=True, slots=True)
class AskPrograms:
    """Find out which instruments the soundfont has."""


@dataclass(frozen=True, slots=True)
class TryFont:
    """Sound with another soundfont, if it is one; empty for the first found."""

    path: str


@dataclass(frozen=True, slots=True)
class Save:
    """Write the song to a path; `force` writes over a file that changed meanwhile."""

    path: str
    force: bool = False


@dataclass(frozen=True, slots=True)
class KeepFigure:
    """Keep the figure of a hand at a bar in the writer's own catalogue."""

    name: str
    hand: Hand
    bar: int


@dataclass(frozen=True, slots=True)
class Render:
    """Write the part to a file in the form its ending names; `how` are options of `render`."""

    path: str
    how: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StopWriting:
    """Give up the file that is being written."""


@dataclass(frozen=True, slots=True)
class ShowPages:
    """Show the engraved score's pages as pictures."""


@dataclass(frozen=True, slots=True)
class Find:
    """Ask the reharmoniser, while the screen goes on."""

    ask: Ask


@dataclass(frozen=True, slots=True)
class EditText:
    """Open the song's text in the user's own editor."""

    text: str


@dataclass(frozen=True, slots=True)
class Quit:
    """Leave the program."""


@dataclass(frozen=True, slots=True)
class Theme:
    """Show the next theme."""


Effect = (
    Play | Stop | Strike | Mark | Tap | Panic | Listen | AskPrograms | TryFont | Find
    | Save | Render | StopWriting | ShowPages | KeepFigure | EditText | Quit | Theme
)  # fmt: skip
