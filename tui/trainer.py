"""What playing and practising need of the world: sound, log, clock, MIDI keyboard, preferences."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.song import Song
from engine.workshop import (
    AskPrograms,
    Hands,
    Listen,
    Mark,
    Notice,
    Panic,
    Play,
    PracticeLog,
    Preferences,
    Stages,
    Stop,
    Strike,
    Tap,
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
from tui.sound import Sound, programs_of

if TYPE_CHECKING:
    from engine.play.tap import Taps

#: Seconds between two looks at the player's clock that count as playing without a break.
UNBROKEN = 1.0
#: Seconds that dials rest before they are kept.
REST = 1.0
#: Seconds that a notice is shown while it plays.
READ = 6.0
#: Seconds that a word of care stands on the screen.
CARE = 15.0

Wish = Play | Stop | Panic | Strike | Mark | Tap | Listen | AskPrograms


class Trainer:
    """Carries out what practice asks for; every method gives the work as it is then."""

    def __init__(
        self,
        sound: Sound,
        practising: Practising,
        hearing: Hearing,
        clock: Callable[[], float],
        keep: Callable[[Preferences], None] | None = None,
    ) -> None:
        self.practising = practising
        self.hearing = hearing
        self._sound = sound
        self._clock = clock
        self._keep = keep
        self.kept: Preferences | None = None
        self._turned_at: float | None = None
        self._taps: Taps | None = None
        self._looked = clock()
        self._asked_aloud = False
        self._notice = (Notice(), clock())
        self._caution, self._seen, self._seen_at = "", 0.0, clock()
        self._due = ""
        self._shown: tuple[Song, PracticeLog, str] | None = None
        self._clean: Mapping[int, str] = {}

    def begun(self, work: Work) -> Work:
        """The work with what is known of its practice."""
        log = self.practising.log
        return work if work.log is log else replace(work, log=log)

    def clean(self, work: Work) -> Mapping[int, str]:
        """Each practised bar's clean tempo with the hands that sound, as the chart shows it."""
        wanted = (work.song, work.log, work.hands.word)
        old = self._shown
        if old is None or any(a is not b for a, b in zip(old, wanted, strict=True)):
            self._shown = wanted
            self._clean = _clean_marks(work)
        return self._clean

    def carry(self, wish: Wish, work: Work, stages: Stages) -> Work:
        """Do what was asked for. Raises FileError where the log cannot be written."""
        match wish:
            case Play(at):
                self._sound.play(work, at)
            case Stop():
                self._sound.stop()
                return self.stopped(work)
            case Panic():
                self._sound.panic()
                return self.stopped(work)
            case Strike(at):
                self._sound.strike(_struck(work, stages, at))
            case Mark():
                self.practising.mark(work.song, wish)
                return self.begun(work)
            case Tap():
                return self._tap(work)
            case Listen():
                return self._listen(work, wish)
            case AskPrograms():
                return replace(work, programs=programs_of(work.preferences))
        return work

    def stopped(self, work: Work) -> Work:
        """The minutes played noted. Raises FileError."""
        self.practising.stopped()
        return self.begun(work)

    def moved(self, work: Work) -> Work:
        """The log follows the song to where it was saved. Raises FileError."""
        if work.path:
            self.practising.moved(work.path)
        return work

    def _tap(self, work: Work) -> Work:
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
        self._due = caution or self._due
        return replace(work, caution=caution) if caution else work

    def rested(self, work: Work) -> Work:
        """Keep the preferences once the dials have come to rest. Raises FileError."""
        if self.kept is None:
            self.kept = work.preferences
        if work.preferences == self.kept:
            return work
        if self._turned_at is None:
            self._turned_at = self._clock()
        if self._clock() - self._turned_at >= REST:
            self.close(work)
        return work

    def close(self, work: Work) -> None:
        """Keep the preferences that are not kept yet. Raises FileError."""
        changed = self.kept is not None and work.preferences != self.kept
        self.kept, self._turned_at = work.preferences, None
        if changed and self._keep is not None:
            self._keep(work.preferences)

    def faded(self, work: Work) -> Work:
        """A plain notice leaves the line to the music once it has been read."""
        if work.notice is not self._notice[0]:
            self._notice = (work.notice, self._clock())
        read = self._clock() - self._notice[1] > READ
        if read and work.notice.text and work.notice.tone is Tone.PLAIN:
            return replace(work, notice=Notice())
        return work

    def cared(self, work: Work, *, shown: bool) -> Work:
        """A caution gives the keys their line back once it has been read.

        Only the time in which it is `shown` counts. What falls due while the eyes are on the
        hands, a rest or the end of a block, stays until it is put away or playing stops.
        """
        passed, self._seen_at = self._clock() - self._seen_at, self._clock()
        if work.caution != self._caution:
            self._caution, self._seen = work.caution, 0.0
            self._due = self._due if work.caution else ""
        elif shown and work.caution != self._due:
            self._seen += passed
        return replace(work, caution="") if work.caution and self._seen > CARE else work

    # The MIDI keyboard

    def _listen(self, work: Work, wish: Listen) -> Work:
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


def _struck(work: Work, stages: Stages, at: Fraction) -> list[tuple[int, int]]:
    """The (MIDI key, velocity) of the hands that sound at a time, as they are performed."""
    notes = stages.performance.notes if stages.performance is not None else ()
    hands = stepping.sounding_hands(work.hands)
    return [(n.midi, n.velocity) for n in notes if n.onset == at and n.hand in hands]


def _clean_marks(work: Work) -> dict[int, str]:
    """`✓60` with the hands that sound; where those are both, but known apart only, `r60 l52`."""
    from engine.workshop.practice_log import tempo_by_bar

    known = {hands: tempo_by_bar(work.log, work.song, hands) for hands in ("both", "right", "left")}
    marks = {bar: f"✓{tempo:g}" for bar, tempo in known[work.hands.word].items()}
    if work.hands is not Hands.BOTH:
        return marks
    for bar in known["right"].keys() | known["left"].keys():
        apart = [
            f"{hand[0]}{known[hand][bar]:g}" for hand in ("right", "left") if bar in known[hand]
        ]
        marks.setdefault(bar, " ".join(apart))
    return marks
