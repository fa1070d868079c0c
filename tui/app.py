"""The full-screen workshop: keys in, the next state of the work, sound and files asked for."""

from __future__ import annotations

import gc
import logging
import sys
import time
import traceback
from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction

from rich.style import Style
from textual.app import App
from textual.message import Message
from textual.screen import Screen

from engine.errors import AlbertiError
from engine.part import PartNote
from engine.play import Player, State
from engine.song import Hand, Song, read_song
from engine.workshop import (
    Effect,
    Hands,
    Journal,
    Notice,
    Outcome,
    Play,
    Quit,
    Render,
    Save,
    Stages,
    Stop,
    Strike,
    Theme,
    Tone,
    Work,
    chart_lines,
    open_file,
    open_work,
    save,
    stages,
    text_of,
)
from tui import keys
from tui.commands import Keymap
from tui.desk import Desk
from tui.faults import fault_file, note_faults, told
from tui.maker import Made, Make, Maker
from tui.settings import Options, load
from tui.theme import EVENING, PAPER, TERMINAL, bare_styles, terminal_styles, themed_styles
from tui.view import Sounding, View
from tui.writing import write_part

logger = logging.getLogger("alberti")
#: Seconds that what has just changed glows, and between looks at the player's clock.
GLOW = 0.9
TICK = 1 / 30
#: Seconds that a player may take from being asked to play to playing.
PATIENCE = 1.0
#: What a workshop opens with when no song is named.
BLANK = """format = 1
title = "Untitled"
key = "C major"
meter = "4/4"
tempo = 72

[[section]]
name = "A"
chart = \"\"\"
| C | % | % | % |
\"\"\"
"""


class StagesMade(Message):
    """The maker has finished the stages of a song."""

    def __init__(self, made: Made) -> None:
        super().__init__()
        self.made = made

    def can_replace(self, message: Message) -> bool:
        return isinstance(message, StagesMade)


class Workshop(App[int], inherit_bindings=False):
    """Holds the one reference that changes: which `Work` is now."""

    ENABLE_COMMAND_PALETTE = False

    def __init__(
        self,
        work: Work,
        player: Player,
        options: Options | None = None,
        journal: Journal | None = None,
        *,
        clock: Callable[[], float] = time.monotonic,
        glow_seconds: float = GLOW,
        make: Make = stages,
    ) -> None:
        super().__init__()
        self.work = work
        self.player = player
        self.options = options or Options()
        self.journal = journal
        self.keymap = Keymap(self.options.keys)
        self.stages = Stages(work.shown)
        self.glow: frozenset[int] = frozenset()
        self.fell = False
        self.maker = Maker(work.shown, self._made, journal, make)
        self._clock = clock
        self._glow_seconds = glow_seconds
        self._glow_round = 0
        self._styles: dict[str, Style] = bare_styles()
        self._sounding: Sounding | None = None
        self._asked_at: float | None = None
        self._sound = ""
        self.desk = Desk(
            lambda: (self._styles, self.options.ascii),
            self.press,
            lambda text: self.take(keys.paste(self.work, text)),
            self.view,
            self.keymap,
        )
        for theme in (EVENING, PAPER):
            self.register_theme(theme)
        self.title = "Alberti"
        self.colours = self.options.colours or self._colours_here()
        wanted = self.options.theme if self.colours == "theme" else TERMINAL
        self.theme = wanted if wanted in self.available_themes else EVENING.name

    def _colours_here(self) -> str:
        if self.no_color:
            return "none"
        few = self.console.color_system in (None, "standard")
        return "terminal" if few else "theme"

    def get_default_screen(self) -> Screen[None]:
        return self.desk

    def view(self) -> View:
        """What the panes are drawn from."""
        return View(self.work, self.stages, self._sounding, self.glow, self._sound)

    # Life

    def on_mount(self) -> None:
        self._restyle()
        self.theme_changed_signal.subscribe(self, lambda _: self._restyle())
        self.maker.ask(self.work.shown)
        self.set_interval(TICK, self._tick)
        self.call_after_refresh(_settle_memory)

    def on_unmount(self) -> None:
        self.maker.close()
        self.player.close()

    def _restyle(self) -> None:
        if self.colours == "none":
            self._styles = bare_styles()
        elif self.colours == "terminal":
            self._styles = terminal_styles()
        else:
            self._styles = themed_styles(self.get_css_variables())
        self.desk.restyle()

    def _made(self, made: Made) -> None:
        self.post_message(StagesMade(made))

    def on_stages_made(self, message: StagesMade) -> None:
        made = message.made
        before, self.stages = self.stages, made.stages
        if made.score is not None:
            self.player.load(made.score)
        self._start_glow(differing_notes(before, made.stages))
        self.desk.draw()

    def _fatal_error(self) -> None:
        """A fault of our own: note it down, keep the work, and leave with one line."""
        logger.error("the screen: %s", traceback.format_exc())
        self.fell = True
        self._close_messages_no_wait()

    # Keys

    def press(self, key: str, character: str | None) -> None:
        """One key. A fault of ours leaves the work as it was, and says so."""
        try:
            outcome = keys.press(self.work, key, character, self.keymap)
        except Exception as fault:
            logger.exception("key %s, %s", key, self.work)
            outcome = Outcome(replace(self.work, notice=Notice(told(fault), Tone.TROUBLE)))
        self.take(outcome)

    def take(self, outcome: Outcome) -> None:
        """Put the next state in place, ask the world for what it wants, and draw."""
        before, self.work = self.work, outcome.work
        self._tell_player(before, self.work)
        for effect in outcome.effects:
            self._do(effect)
        after = self.work
        if after.step is None and not after.playing:
            self._sounding = None
        if after.shown is not before.shown:
            self.maker.ask(after.shown)
        if after.song is not before.song or after.entry != before.entry:
            self.maker.keep(after)
        if after.changed is not before.changed:
            self._start_glow(after.changed)
        lines = len(chart_lines(after.shown)) != len(chart_lines(before.shown))
        if lines or after.pane is not before.pane:
            self.desk.lay_out()
        else:
            self.desk.draw()

    def _tell_player(self, before: Work, after: Work) -> None:
        """Tell the player what differs."""
        player = self.player
        if after.loop != before.loop:
            player.set_loop(stretch(after))
        if tempo_factor(after) != tempo_factor(before):
            player.set_tempo(tempo_factor(after))
        if after.hands is not before.hands:
            player.mute(Hand.LEFT, 0.0 if after.hands is Hands.RIGHT else 1.0)
            player.mute(Hand.RIGHT, 0.0 if after.hands is Hands.LEFT else 1.0)
        if after.click != before.click:
            player.click(after.click)

    def _do(self, effect: Effect) -> None:
        match effect:
            case Play(at):
                self._asked_at = self._clock()
                bars = 1 if self.work.count_in else 0
                self.player.play(at, loop=stretch(self.work), count_in=bars)
            case Stop():
                self.player.stop()
            case Strike(at):
                self._sounding = sounding(self.work.shown, at)
            case Save(path, force):
                self._attempt(lambda: save(self.work, path, force=force))
                self.maker.keep(self.work)
            case Render(path):
                self.run_worker(self._write(text_of(self.work), path), group="writing")
            case Theme():
                if self.colours == "theme":
                    self.theme = PAPER.name if self.theme == EVENING.name else EVENING.name
            case Quit():
                self._leave()

    async def _write(self, text: str, path: str) -> None:
        notice = await write_part(text, path)
        self.take(Outcome(replace(self.work, notice=notice)))

    def _attempt(self, do: Callable[[], Work]) -> None:
        try:
            self.work = do()
        except AlbertiError as error:
            self.work = replace(self.work, notice=Notice(str(error), Tone.TROUBLE))

    def _leave(self) -> None:
        self.maker.close()
        if self.journal is not None:
            self.journal.drop(self.work)
        self.exit(0)

    # What glows, and the playhead

    def _start_glow(self, bars: Iterable[int]) -> None:
        found = frozenset(bars)
        if not found or self._glow_seconds <= 0:
            return
        self.glow |= found
        self._glow_round += 1
        this = self._glow_round
        self.set_timer(self._glow_seconds, lambda: self._settle_glow(this))

    def _settle_glow(self, number: int) -> None:
        if number == self._glow_round:
            self.glow = frozenset()
            self.desk.draw()

    def _tick(self) -> None:
        """Look at the player and its clock; draw only where the picture changes."""
        sound = self.player.notice or self.player.output
        if sound != self._sound:
            self._sound = sound
            self.desk.draw()
        if not self.work.playing or not self.desk.is_current:
            return
        where = self.player.where()
        if where.state is State.STOPPED:
            if self._asked_at is not None and self._clock() - self._asked_at < PATIENCE:
                return
            self.work, self._sounding = replace(self.work, playing=False), None
            self.desk.draw()
            return
        self._asked_at = None
        now = sounding(self.work.shown, Fraction(where.place).limit_denominator(960))
        before, self._sounding = self._sounding, now
        beat = self.work.shown.bars[now.bar - 1].meter.beat
        old = before and (before.bar, before.slot, before.at // beat)
        if old != (now.bar, now.slot, now.at // beat):
            self.desk.draw()
        else:
            self.desk.move_head(self.view())


def sounding(song: Song, at: Fraction) -> Sounding:
    """Where a time of the song is."""
    bar = song.bar_at(at)
    inside = min(max(at - bar.start, Fraction(0)), bar.meter.bar)
    return Sounding(bar.number, inside, bar.slots.index(bar.slot_at(inside)))


def stretch(work: Work) -> tuple[Fraction, Fraction] | None:
    """The loop in whole notes."""
    if work.loop is None:
        return None
    bars = work.shown.bars
    first, last = (min(number, len(bars)) for number in work.loop)
    return bars[first - 1].start, bars[last - 1].end


def tempo_factor(work: Work) -> float:
    """How many times as fast as written it plays."""
    return work.now_tempo / work.written_tempo


def differing_notes(before: Stages, after: Stages) -> frozenset[int]:
    """Bars whose notes another part has, where both parts are there."""
    if before.part is None or after.part is None or before.part is after.part:
        return frozenset()
    old, new = notes_by_bar(before.part.notes), notes_by_bar(after.part.notes)
    starts = {bar.number: bar.start for bar in after.song.bars}
    return frozenset(number for number in starts if old.get(number) != new.get(number))


def notes_by_bar(notes: Iterable[PartNote]) -> dict[int, list[tuple[object, ...]]]:
    """What is struck in each bar: hand, pitch, onset, role."""
    found: dict[int, list[tuple[object, ...]]] = {}
    for note in notes:
        found.setdefault(note.bar, []).append((note.hand, note.pitch, note.onset, note.role))
    return found


def _settle_memory() -> None:
    """Put what start-up made out of the collector's way, so that it never halts a key."""
    gc.collect()
    gc.freeze()


def run(song_path: str | None, sound: str = "auto") -> int:
    """Open the workshop on a song file, or on an empty song; returns the exit status."""
    note_faults()
    journal = Journal.usual()
    try:
        options = load()
        work = open_file(song_path) if song_path else open_work(read_song(BLANK))
        player = Player.open(sound)
    except AlbertiError as error:
        print(error.report(), file=sys.stderr)
        return 2
    app = Workshop(journal.recover(work), player, options, journal)
    status = app.run()
    if app.fell:
        print(
            "Alberti stopped at a fault of its own. What you typed is kept and comes back when"
            f" you open the song again. The fault is described in {fault_file()}.",
            file=sys.stderr,
        )
        return 1
    return status or 0
