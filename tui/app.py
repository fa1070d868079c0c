"""The full-screen workshop: keys in, the next state of the work, sound and files asked for."""

from __future__ import annotations

import asyncio
import logging
import time
import traceback
from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from rich.style import Style
from textual.app import App
from textual.screen import Screen

from engine.errors import AlbertiError
from engine.workshop import (
    EditText,
    Effect,
    Entry,
    Find,
    Journal,
    KeepFigure,
    Notice,
    Outcome,
    Preferences,
    Quit,
    Render,
    Save,
    ShowPages,
    Stages,
    StopWriting,
    Theme,
    Tone,
    TryFont,
    Work,
    performance_of,
    save,
    stages,
    stepping,
    text_of,
)
from engine.workshop.own_figures import keep_bars_figure
from tui import keys, lists
from tui.commands import Keymap
from tui.desk import Desk
from tui.editor import edited_in
from tui.faults import told
from tui.finder import Finder
from tui.hearing import Hearing
from tui.maker import Made, Make, Maker, Perform
from tui.messages import IdeasFound, StagesMade
from tui.practising import Practising
from tui.settings import Options
from tui.sound import Sound, font_trouble
from tui.theme import EVENING, PAPER, TERMINAL, bare_styles, colours_of, styles_in
from tui.tidying import Tidying
from tui.trainer import Trainer, Wish
from tui.view import Sounding, View, sounding
from tui.widgets.chart import wanted_rows
from tui.widgets.frame import caution_shown
from tui.widgets.melody import has_melody
from tui.writing import write_part

if TYPE_CHECKING:
    from engine.play import Player
    from tui.pages import Pictures

logger = logging.getLogger("alberti")
#: Seconds that what has just changed glows, and between looks at the player's clock.
GLOW = 0.9
TICK = 1 / 30


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
        perform: Perform = performance_of,
        practising: Practising | None = None,
        hearing: Hearing | None = None,
        keep_preferences: Callable[[Preferences], None] | None = None,
        pictures: Pictures | None = None,
    ) -> None:
        super().__init__()
        self.options = options or Options()
        self.work = replace(work, preferences=self.options.preferences)
        self.sound = Sound(player if callable(player) else lambda: player, clock)
        self.sound.tell(self.work)
        self.trainer = Trainer(
            self.sound, practising or Practising(""), hearing or Hearing(), clock, keep_preferences
        )
        self.journal = journal
        self.keymap = Keymap(self.options.keys)
        self.stages = Stages(work.shown)
        self.glow: frozenset[int] = frozenset()
        self.fell = False
        self.maker = Maker(work.shown, self.sound.load, self._made, journal, make, perform)
        self.finder = Finder(
            lambda ideas: self.post_message(IdeasFound(ideas)), lambda: not self.maker.idle
        )
        self.tidying = Tidying(clock)
        self._clock = clock
        self._glow_seconds = glow_seconds
        self._glow_round = 0
        self._styles: dict[str, Style] = bare_styles()
        self._sounding: Sounding | None = None
        self._said = ""
        self._pictures = pictures
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
        self.colours = self.options.colours or colours_of(
            self.console.color_system, bare=self.no_color
        )
        wanted = self.options.theme if self.colours == "theme" else TERMINAL
        self.theme = wanted if wanted in self.available_themes else EVENING.name

    def get_default_screen(self) -> Screen[None]:
        return self.desk

    def view(self) -> View:
        """What the panes are drawn from."""
        return View(
            self.work,
            self.stages,
            self._sounding,
            self.glow,
            self._said,
            self.trainer.clean(self.work),
            self.trainer.practising.today,
        )

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
        self.work = self.trainer.begun(self.work)
        self.maker.ask(self.work.shown)

    def on_unmount(self) -> None:
        self.finder.close()
        self.maker.close()
        self.sound.close()
        self.trainer.hearing.close()
        self._attempt(self._rested)
        self.tidying.end()

    def _restyle(self) -> None:
        self._styles = styles_in(self.colours, self.get_css_variables)
        self.desk.restyle()

    def _made(self, made: Made) -> None:
        self.post_message(StagesMade(made))

    def on_stages_made(self, message: StagesMade) -> None:
        made = message.made
        before, self.stages = self.stages, made.stages
        self.work = replace(self.work, marks=made.marks)
        if before.part is None:
            self.tidying.begin()
        self.work = stepping.regrouped(self.work, self.stages.part)
        self.sound.tell(self.work, self.stages.part)
        self._start_glow(made.differing)
        self.desk.draw()

    def on_ideas_found(self, message: IdeasFound) -> None:
        self.take(lists.found(self.work, message.ideas, self.keymap))

    def _fatal_error(self) -> None:
        """A fault of our own: note it down, keep the work, and leave with one line."""
        logger.error("the screen: %s", traceback.format_exc())
        self.fell = True
        self._close_messages_no_wait()

    # Keys

    def press(self, key: str, character: str | None) -> None:
        """One key. A fault of ours leaves the work as it was, and says so."""
        self.tidying.pressed()
        try:
            outcome = keys.press(self.work, key, character, self.keymap)
        except Exception as fault:
            logger.exception("key %s, %s", key, self.work)
            outcome = Outcome(replace(self.work, notice=Notice(told(fault), Tone.TROUBLE)))
        self.take(outcome)

    def take(self, outcome: Outcome) -> None:
        """Put the next state in place, ask the world for what it wants, and draw."""
        before, self.work = self.work, outcome.work
        self.sound.tell(self.work, self.stages.part)
        for effect in outcome.effects:
            self._do(effect, before.entry)
        after = self.work
        if (after.hands, after.loop) != (before.hands, before.loop):
            after = self.work = stepping.regrouped(after, self.stages.part)
        if after.steps is not None:
            self._sounding = sounding(after.shown, after.steps.group.onset)
        elif not after.playing:
            self._sounding = None
        if after.shown is not before.shown:
            self.maker.ask(after.shown, trial=after.trial is not None)
        if after.song is not before.song or after.entry != before.entry:
            self.maker.keep(after)
        if after.changed is not before.changed:
            self._start_glow(after.changed)
        rows = wanted_rows(after.shown) != wanted_rows(before.shown)
        stepping_began = (after.steps is None) != (before.steps is None)
        if rows or stepping_began or after.pane is not before.pane:
            self.desk.lay_out()
        else:
            self.desk.draw()

    def _do(self, effect: Effect, line: Entry | None) -> None:
        """What is asked for by a key, or by the line that was typed."""
        match effect:
            case _ if isinstance(effect, Wish):
                self._attempt(lambda: self.trainer.carry(effect, self.work, self.stages))
                self.sound.tell(self.work, self.stages.part)
            case TryFont(path):
                self.run_worker(self._try_font(path), group="soundfont", exclusive=True)
            case StopWriting():
                self.workers.cancel_group(self, "writing")
            case Find(ask):
                self.finder.find(ask)
            case Save() | KeepFigure() | Render() | ShowPages():
                self._file(effect, line)
            case EditText(text):
                self.work = edited_in(self.work, text, self.suspend)
            case Theme():
                if self.colours == "theme":
                    self.theme = PAPER.name if self.theme == EVENING.name else EVENING.name
            case Quit():
                self._leave()

    def _file(self, effect: Save | KeepFigure | Render | ShowPages, line: Entry | None) -> None:
        """What leaves something in a file; where it fails, the line it was typed in stays open."""
        match effect:
            case Save(path, force):
                self._attempt(lambda: self.trainer.moved(save(self.work, path, force=force)), line)
                self.maker.keep(self.work)
            case KeepFigure():
                part = self.stages.part
                self._attempt(lambda: keep_bars_figure(self.work, part, effect), line)
            case _:
                writing = self._written(effect, text_of(self.work), self.work.notice, line)
                self.run_worker(writing, group="writing")

    async def _written(
        self, effect: Render | ShowPages, text: str, asked: Notice, line: Entry | None
    ) -> None:
        if isinstance(effect, Render):
            melody = self.work.melody or not has_melody(self.work.song)
            notice = await write_part(
                text, effect, self.work.path, melody=melody, progress=self._written_so_far
            )
            self.work = replace(self.work, writing=None)
        else:
            from tui.pages import show_pages

            notice = await show_pages(self, text, self._pictures)
        told = replace(self.work, notice=notice)
        if line is not None and notice.tone is Tone.TROUBLE and self.work.notice is asked:
            told = replace(told, entry=line)  # nothing else was begun meanwhile
        self.take(Outcome(told))

    def _written_so_far(self, share: float) -> None:
        if self.work.writing is not None:
            self.work = replace(self.work, writing=self.work.writing._replace(share=share))
            self.desk.draw()

    async def _try_font(self, path: str) -> None:
        """Take another soundfont once it has been tried out."""
        trouble = await asyncio.to_thread(font_trouble, path)
        self.take(Outcome(self.sound.font_taken(self.work, path, trouble)))

    def _rested(self) -> Work:
        self.trainer.close(self.work)
        return self.work

    def _attempt(self, do: Callable[[], Work], line: Entry | None = None) -> None:
        """The work after something outside was done; where that fails, the reason and the line."""
        try:
            self.work = do()
        except AlbertiError as error:
            notice = Notice(str(error), Tone.TROUBLE)
            self.work = replace(self.work, notice=notice, entry=line or self.work.entry)

    def _leave(self) -> None:
        self.maker.close()
        self._attempt(lambda: self.trainer.stopped(self.work))
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
        if self.work.preferences is not self.trainer.kept:
            self._attempt(lambda: self.trainer.rested(self.work))
        heard = self.trainer.heard(self.work)
        if heard is not self.work:
            self.take(Outcome(heard))
        self._care()
        self.tidying.look()
        if not self.work.playing or not self.desk.is_current:
            return
        where = self.sound.where()
        if where is None:
            self._stopped()
            return
        self.work = self.trainer.faded(self.trainer.played(self.work))
        place = Fraction(where.place).limit_denominator(960)
        now = sounding(self.work.shown, place, where.beats_left, where.pass_number)
        before, self._sounding = self._sounding, now
        beat = self.work.shown.bars[now.bar - 1].meter.beat
        old = before and (before.bar, before.slot, before.at // beat, before.beats_left)
        if old != (now.bar, now.slot, now.at // beat, now.beats_left):
            self.desk.draw()
        else:
            view = self.view()
            self.desk.move_head(view)
            self.desk.move_keys(view)

    def _care(self) -> None:
        """A caution that has been read leaves the screen."""
        shown = self.desk.is_current and caution_shown(self.view(), self.size.width)
        cared = self.trainer.cared(self.work, shown=shown)
        if cared is not self.work:
            self.work = cared
            self.desk.draw()

    def _stopped(self) -> None:
        """The player has come to the end by itself."""
        self.work, self._sounding = replace(self.work, playing=False), None
        self._attempt(lambda: self.trainer.stopped(self.work))
        self.desk.draw()
