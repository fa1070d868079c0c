"""The state of the work as one frozen value, and what a command may ask of the world outside.

Commands are functions from `Work` to `Outcome`: the next value and, where the
world must do something (play, save, quit), that wish as a value. Undo is a walk
along `past` and `future`, which hold whole songs.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from pathlib import PurePath
from typing import TYPE_CHECKING, NamedTuple

from engine.song import Bar, Hand, Slot, Song
from engine.workshop.effects import Effect
from engine.workshop.ideas import Ask, Ideas
from engine.workshop.loop import Loop
from engine.workshop.practice_log import PracticeLog
from engine.workshop.preferences import Preferences

if TYPE_CHECKING:
    from engine.play.ladder import Ladder
    from engine.play.steps import Steps
    from engine.workshop.sitting import Sitting


class Pane(StrEnum):
    CHART = "chart"
    CHORD = "chord"
    FIGURE = "figure"


class Hands(StrEnum):
    """Which hands sound."""

    BOTH = "both hands"
    RIGHT = "right hand alone"
    LEFT = "left hand alone"

    @property
    def word(self) -> str:
        """The practice log's word: both, right or left."""
        return self.value.partition(" ")[0]


class Cursor(NamedTuple):
    """A place in the song: bar from 1, slot of the bar from 0."""

    bar: int = 1
    slot: int = 0


START = Cursor()
DEFAULTS = Preferences()
NOTHING_PRACTISED = PracticeLog()


class EntryKind(StrEnum):
    """What a line of text being typed will become."""

    CHORD = "chord"
    BAR = "bar"
    TOKENS = "figure"
    MELODY = "melody"
    TEMPO = "tempo"
    LOOP = "loop"
    DIAL = "dial"
    TRANSPOSE = "transpose"
    GO_TO = "go to bar"
    SAVE_AS = "save as"
    RENDER = "write to"
    SETTING = "setting"
    FIGURE_NAME = "figure's name"


class Extent(StrEnum):
    """How far a choice reaches."""

    BAR = "this bar"
    SECTION = "this section"
    SONG = "the whole song"


@dataclass(frozen=True, slots=True)
class Entry:
    """A line being typed; `caret` counts characters. `name` is the setting it is for, if any.

    While it is `fresh`, the first character typed takes the place of all of it.
    `last` is the last bar of a melody that is typed.
    """

    kind: EntryKind
    text: str = ""
    caret: int = 0
    at: Cursor = START
    hand: Hand = Hand.RIGHT
    name: str = ""
    extent: Extent = Extent.BAR
    fresh: bool = False
    last: int = 0


class ListKind(StrEnum):
    """What an open list offers."""

    PALETTE = "commands"
    KEYS = "keys"
    FIGURES = "figures"
    CHORDS = "other chords"
    DIALS = "sound and practice"
    PLAN = "practice plan"
    MOVES = "the whole song another way"
    VOICE = "keys for a voice"


@dataclass(frozen=True, slots=True)
class Chooser:
    """An open list: the line under the hand, what was typed to narrow it, how far a choice goes.

    `ask` is what its lines answer, `voice` the range it is for. `began` and
    `looped` say that the list itself began the playing and the loop, `silent`
    that it is not to begin them; `aside` is the loop that stood elsewhere until then.
    """

    kind: ListKind
    index: int = 0
    query: str = ""
    hand: Hand = Hand.RIGHT
    extent: Extent = Extent.BAR
    ask: Ask | None = None
    voice: tuple[int, int] = (0, 0)
    began: bool = False
    looped: bool = False
    silent: bool = False
    aside: Loop | None = None


class Tone(StrEnum):
    """How a notice is meant."""

    PLAIN = "plain"
    REFUSAL = "refusal"
    TROUBLE = "trouble"


class Notice(NamedTuple):
    text: str = ""
    tone: Tone = Tone.PLAIN


SILENCE = Notice()


class Writing(NamedTuple):
    """The file that is being written, and how much of it is, 0 to 1; 0 where that is not known."""

    path: str
    share: float = 0.0

    @property
    def name(self) -> str:
        return PurePath(self.path).name


class Step(NamedTuple):
    """A song to go back to, where the cursor stood, and what was done to it next."""

    song: Song
    cursor: Cursor
    name: str


@dataclass(frozen=True, slots=True)
class Work:
    """Everything the screen shows that is not derived from the song.

    `text` is the file as last read or written (its comments are kept), `saved`
    the song it holds; `draft` is the text as edited in an editor since then, and
    `unread` one that could not be read and waits to be mended. `anchor` is where a
    selection began; `trial` a song tried out while a list is open; `tempo` the
    playing tempo, None for the written one; `transpose` how many semitones higher
    it sounds; `melody` whether the melody sounds, `verse` the one shown, from 0;
    `ladder_start` and `ladder_goal` are 0 where the ladder chooses; `nearness` is
    how far other chords may go, 0 near to 1 far, `ideas` and `weighed` what was last
    found; `changed` the bars that the last edit touched, `marks` those whose notes it
    changed. `programs` are the
    soundfont's instruments, once asked for; `writing` is the file that is being
    written; `playing` mirrors the player,
    `keyboard` and `held` the MIDI keyboard that is listened to and its keys that
    are down.
    """

    song: Song
    path: str = ""
    text: str = ""
    draft: str = ""
    unread: str = ""
    saved: Song | None = None
    cursor: Cursor = START
    anchor: int | None = None
    pane: Pane = Pane.CHART
    hand: Hand = Hand.RIGHT
    entry: Entry | None = None
    chooser: Chooser | None = None
    trial: Song | None = None
    preferences: Preferences = DEFAULTS
    loop: Loop | None = None
    tempo: float | None = None
    transpose: int = 0
    hands: Hands = Hands.BOTH
    melody: bool = True
    verse: int = 0
    click: bool = False
    count_in: bool = False
    writing: Writing | None = None
    playing: bool = False
    steps: Steps | None = None
    ladder: Ladder | None = None
    ladder_start: float = 0
    ladder_goal: float = 0
    log: PracticeLog = NOTHING_PRACTISED
    sitting: Sitting | None = None
    programs: tuple[tuple[int, str], ...] = ()
    keyboard: str = ""
    held: tuple[int, ...] = ()
    clip: tuple[str, ...] = ()
    notice: Notice = SILENCE
    caution: str = ""
    cautions_shown: int = 0
    nearness: float = 0.5
    ideas: Ideas | None = None
    weighed: Ideas | None = None
    changed: frozenset[int] = frozenset()
    marks: frozenset[int] = frozenset()
    past: tuple[Step, ...] = field(default=(), repr=False)
    future: tuple[Step, ...] = field(default=(), repr=False)
    overwrite: str = ""  # the file that the writer was told would be written over
    leaving: bool = False  # the writer was told that quitting loses what is not saved

    @property
    def shown(self) -> Song:
        """The song on the screen and in the loudspeaker: the one tried out, if any."""
        return self.trial or self.song

    @property
    def edited(self) -> bool:
        """Whether the song differs from its file."""
        return self.song != self.saved or bool(self.draft and self.draft != self.text)

    @property
    def bar(self) -> Bar:
        """The bar under the cursor."""
        return self.song.bars[self.cursor.bar - 1]

    @property
    def slot(self) -> Slot:
        """The slot under the cursor."""
        slots = self.bar.slots
        return slots[min(self.cursor.slot, len(slots) - 1)]

    @property
    def here(self) -> Fraction:
        """The time under the cursor, in whole notes."""
        return self.bar.start + self.slot.onset

    @property
    def selection(self) -> tuple[int, int]:
        """First and last bar selected; the bar under the cursor where nothing is."""
        other = self.cursor.bar if self.anchor is None else self.anchor
        return min(other, self.cursor.bar), max(other, self.cursor.bar)

    @property
    def now_tempo(self) -> float:
        """The tempo it plays at, in beats a minute at the first bar that plays."""
        return self.written_tempo if self.tempo is None else self.tempo

    @property
    def written_tempo(self) -> float:
        """The tempo written at the cursor's bar, or at the loop's first bar."""
        number = self.loop.first if self.loop else self.cursor.bar
        return self.song.bars[min(number, len(self.song.bars)) - 1].tempo

    @property
    def step(self) -> Fraction | None:
        """The place of step mode in whole notes, None where it is off."""
        return None if self.steps is None else self.steps.group.onset


class Outcome(NamedTuple):
    """What a command leaves: the next value, and what it wants done outside."""

    work: Work
    effects: tuple[Effect, ...] = ()


def say(work: Work, text: str) -> Work:
    """The work with a plain notice."""
    return replace(work, notice=Notice(text))


def refuse(work: Work, reason: str) -> Work:
    """The work unchanged but for the reason why nothing was done."""
    return replace(work, notice=Notice(reason, Tone.REFUSAL))


def open_work(song: Song, *, path: str = "", text: str = "") -> Work:
    """The work as it stands when a song has just been opened."""
    return Work(song=song, path=path, text=text, saved=song)
