"""What practice needs of the world: the log, the clock for taps and minutes, the MIDI keyboard."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from engine.song import Song
from engine.workshop import (
    Listen,
    Mark,
    Notice,
    PracticeLog,
    Tone,
    Work,
    practice,
    refuse,
    say,
    sitting,
    stepping,
)
from tui.hearing import Hearing
from tui.practising import Practising

if TYPE_CHECKING:
    from engine.play.tap import Taps

#: Seconds between two looks at the player's clock that count as playing without a break.
UNBROKEN = 1.0


class Trainer:
    """Carries out what practice asks for; every method gives the work as it is then."""

    def __init__(
        self, practising: Practising, hearing: Hearing, clock: Callable[[], float]
    ) -> None:
        self.practising = practising
        self.hearing = hearing
        self._clock = clock
        self._taps: Taps | None = None
        self._looked = clock()
        self._asked_aloud = False
        self._shown: tuple[Song, PracticeLog, str] | None = None
        self._clean: Mapping[int, float] = {}

    def begun(self, work: Work) -> Work:
        """The work with what is known of its practice."""
        log = self.practising.log
        return work if work.log is log else replace(work, log=log)

    def clean(self, work: Work) -> Mapping[int, float]:
        """Each practised bar's clean tempo with the hands that sound."""
        from engine.workshop.practice_log import tempo_by_bar

        wanted = (work.song, work.log, work.hands.word)
        old = self._shown
        if old is None or any(a is not b for a, b in zip(old, wanted, strict=True)):
            self._shown = wanted
            self._clean = tempo_by_bar(work.log, work.song, work.hands.word)
        return self._clean

    def mark(self, work: Work, mark: Mark) -> Work:
        """A pass noted. Raises FileError."""
        self.practising.mark(work.song, mark)
        return self.begun(work)

    def stopped(self, work: Work) -> Work:
        """The minutes played noted. Raises FileError."""
        self.practising.stopped()
        return self.begun(work)

    def moved(self, work: Work) -> Work:
        """The log follows the song to where it was saved. Raises FileError."""
        if work.path:
            self.practising.moved(work.path)
        return work

    def tap(self, work: Work) -> Work:
        """One more tap of the tempo."""
        from engine.play.tap import Taps, tap

        self._taps = tap(self._taps or Taps(), self._clock())
        tempo = self._taps.tempo
        if tempo is None:
            return say(work, "Tap on: the tempo follows the taps")
        return practice.set_tempo(work, round(tempo))

    def played(self, work: Work) -> Work:
        """The work after the time since the last look, in which it played."""
        before, self._looked = self._looked, self._clock()
        passed = self._looked - before
        if not 0 < passed < UNBROKEN:
            return work
        work, over = sitting.played(work, passed)
        caution = self.practising.played(passed) or over
        return replace(work, caution=caution) if caution else work

    # The MIDI keyboard

    def listen(self, work: Work, wish: Listen) -> Work:
        """Look for a keyboard; `heard` says what came of it."""
        self._asked_aloud = self._asked_aloud or not wish.quiet
        if self.hearing.name:
            return say(work, f"Listening to {self.hearing.name}")
        self.hearing.ask()
        return work

    def heard(self, work: Work) -> Work:
        """The work after what the keyboard played since the last look; the same if nothing."""
        events = self.hearing.fetch()
        if self.hearing.name != work.keyboard:
            work = self._found(work)
        if self._asked_aloud and self.hearing.looked:
            self._asked_aloud = False
            if self.hearing.notice:
                work = replace(work, notice=Notice(self.hearing.notice, Tone.REFUSAL))
        return stepping.heard(work, events) if events else work

    def _found(self, work: Work) -> Work:
        found = replace(work, keyboard=self.hearing.name)
        if not self.hearing.name:
            return refuse(replace(found, held=()), "The MIDI keyboard is gone")
        if work.steps is not None:
            return say(found, f"{self.hearing.name}: play the notes, it waits for the right ones")
        return say(found, f"Listening to {self.hearing.name}: hold a chord, I writes it here")
