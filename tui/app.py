"""The full-screen workshop: keys in, the next state of the work, sound and files asked for."""

from __future__ import annotations

import gc
import logging
import sys
import time
import traceback
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from rich.style import Style
from textual.app import App
from textual.message import Message
from textual.screen import Screen

from engine.errors import AlbertiError
from engine.song import read_song
from engine.workshop import (
    Effect,
    Journal,
    Mark,
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
from tui.glow import differing_notes
from tui.maker import Made, Make, Maker
from tui.practising import Practising
from tui.settings import Options, load
from tui.sound import Sound
from tui.theme import EVENING, PAPER, TERMINAL, bare_styles, terminal_styles, themed_styles
from tui.view import Sounding, View, sounding
from tui.writing import write_part

if TYPE_CHECKING:
    from engine.play import Player

logger = logging.getLogger("alberti")
#: Seconds that what has just changed glows, and between looks at the player's clock.
GLOW = 0.9
TICK = 1 / 30
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
        player: Player | Callable[[], Player],
        options: Options | None = None,
        journal: Journal | None = None,
        *,
        clock: Callable[[], float] = time.monotonic,
        glow_seconds: float = GLOW,
        make: Make = stages,
        practising: Practising | None = None,
    ) -> None:
        super().__init__()
        self.work = work
        self.sound = Sound(player if callable(player) else lambda: player, clock)
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
        self._said = ""
        self._clean: dict[int, float] = {}
        self._ticked = clock()
        self.practising = practising or Practising("")
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
        return View(self.work, self.stages, self._sounding, self.glow, self._said, self._clean)

    # Life

    @property
    def player(self) -> Player:
        """The player, opened if it is not yet."""
        return self.sound.player

    def on_mount(self) -> None:
        self._restyle()
        self.theme_changed_signal.subscribe(self, lambda _: self._restyle())
        self.set_interval(TICK, self._tick)
        self.call_after_refresh(self._first_picture)

    def _first_picture(self) -> None:
        """What the first picture need not wait for."""
        self.maker.ask(self.work.shown)

    def on_unmount(self) -> None:
        self.maker.close()
        self.sound.close()

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
        self._clean = self.practising.clean(made.stages.song)
        before, self.stages = self.stages, made.stages
        if before.part is None:
            gc.enable()
            gc.collect()
            gc.freeze()  # what start-up made never halts a key
        if made.score is not None:
            self.sound.load(made.score)
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
        self.sound.tell(before, self.work)
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

    def _do(self, effect: Effect) -> None:
        match effect:
            case Play(at):
                self.sound.play(self.work, at)
            case Stop():
                self.sound.stop()
                self._attempt(self._minutes_noted)
            case Strike(at, until):
                self.sound.strike(at, until)
                self._sounding = sounding(self.work.shown, at)
            case Mark():
                self._attempt(lambda: self._marked(effect))
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

    def _minutes_noted(self) -> Work:
        self.practising.stopped()
        return self.work

    def _marked(self, effect: Mark) -> Work:
        self.practising.mark(self.work.song, effect)
        self._clean = self.practising.clean(self.work.song)
        return self.work

    def _attempt(self, do: Callable[[], Work]) -> None:
        try:
            self.work = do()
        except AlbertiError as error:
            self.work = replace(self.work, notice=Notice(str(error), Tone.TROUBLE))

    def _leave(self) -> None:
        self.maker.close()
        self._attempt(self._minutes_noted)
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
        if self.sound.said != self._said:
            self._said = self.sound.said
            self.desk.draw()
        if self.work.step is not None:
            self.sound.end_strike()
        if not self.work.playing or not self.desk.is_current:
            return
        place = self.sound.place()
        if place is None:
            self._stopped()
            return
        caution = self.practising.played(self._since_tick())
        if caution:
            self.work = replace(self.work, caution=caution)
        now = sounding(self.work.shown, place)
        before, self._sounding = self._sounding, now
        beat = self.work.shown.bars[now.bar - 1].meter.beat
        old = before and (before.bar, before.slot, before.at // beat)
        if old != (now.bar, now.slot, now.at // beat):
            self.desk.draw()
        else:
            self.desk.move_head(self.view())

    def _since_tick(self) -> float:
        """Seconds since the last look while it played, none after a pause."""
        before, self._ticked = self._ticked, self._clock()
        passed = self._ticked - before
        return passed if passed < 1 else 0.0

    def _stopped(self) -> None:
        """The player has come to the end by itself."""
        self.work, self._sounding = replace(self.work, playing=False), None
        self.desk.draw()


def player_opener(sound: str) -> Callable[[], Player]:
    """What opens the player for a value of `--sound`; a value that is none raises InputError."""

    def open_it() -> Player:
        from engine.play import Player

        return Player.open(sound)

    if sound in ("auto", "none"):
        return open_it
    player = open_it()
    return lambda: player


def run(song_path: str | None, sound: str = "auto") -> int:
    """Open the workshop on a song file, or on an empty song; returns the exit status."""
    note_faults()
    journal = Journal.usual()
    try:
        options = load()
        work = open_file(song_path) if song_path else open_work(read_song(BLANK))
        opener = player_opener(sound)
    except AlbertiError as error:
        print(error.report(), file=sys.stderr)
        return 2
    practising = Practising(work.path)
    app = Workshop(journal.recover(work), opener, options, journal, practising=practising)
    status = app.run()
    if app.fell:
        print(
            "Alberti stopped at a fault of its own. What you typed is kept and comes back when"
            f" you open the song again. The fault is described in {fault_file()}.",
            file=sys.stderr,
        )
        return 1
    return status or 0
