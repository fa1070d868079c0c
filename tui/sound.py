"""What the screen asks of the player, which opens only when the first picture is there."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import AlbertiError
from engine.workshop import Hands, Preferences, Work, refuse, say, span

if TYPE_CHECKING:
    from engine.part import Part
    from engine.play import Options, Player, Score, Voice, Where

#: Seconds that a player may take from being asked to play to playing.
PATIENCE = 1.0
DEFAULTS = Preferences()


class Sound:
    """The player, opened at first use, and told of what differs between two states of the work."""

    def __init__(
        self, opener: Callable[[], Player], clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._opener = opener
        self._clock = clock
        self._player: Player | None = None
        self._asked_at: float | None = None
        self._latest: tuple[Work, Part | None] | None = None
        self._voice: Voice | None = None  # the one asked for last
        self._lock = threading.Lock()  # scores come from the maker's thread

    @property
    def player(self) -> Player:
        """The player itself."""
        with self._lock:
            if self._player is None:
                self._player = self._opener()
                self._apply(self._player)
            return self._player

    @property
    def said(self) -> str:
        """One line: where it sounds, or what is missing and how to mend it."""
        if self._player is None:
            return ""
        return self._player.notice or self._player.output

    def font_taken(self, work: Work, path: str, trouble: str) -> Work:
        """The work with another soundfont, once it has been tried out; or with what is wrong."""
        if trouble:
            return refuse(work, trouble)
        wish = replace(work.preferences, soundfont=path and str(Path(path).expanduser()))
        name = Path(path).name or "the first soundfont found"
        return say(replace(work, preferences=wish), self.font_told(name))

    def font_told(self, name: str) -> str:
        """What is said of a soundfont that was chosen: it is not everywhere that one sounds."""
        player = self._player
        if player is None or player.by_soundfont:
            return f"It sounds with {name}"
        if player.output.startswith("MIDI"):
            return f"{player.output} has sounds of its own; {name} is kept for playing without it"
        return f"{name} is kept for when there is sound"

    def load(self, score: Score) -> None:
        """Play this score from now on; called from any thread."""
        self.player.load(score)

    def play(self, work: Work, at: Fraction) -> None:
        """Play from a time, in the work's loop if it has one."""
        self._asked_at = self._clock()
        self.player.play(at, loop=self.player.options.loop, count_in=1 if work.count_in else 0)

    def strike(self, keys: Iterable[tuple[int, int]]) -> None:
        """Sound (MIDI key, velocity) together: one group in step mode."""
        up = self.player.options.transpose
        self.player.strike([(min(127, max(0, key + up)), loud) for key, loud in keys])

    def stop(self) -> None:
        self._asked_at = None
        self.player.stop()

    def panic(self) -> None:
        """Stop, and silence everything there is."""
        self._asked_at = None
        self.player.panic()

    def where(self) -> Where | None:
        """What sounds now; None once it has stopped by itself."""
        where = self.player.where()
        if where.state == "stopped":
            patient = self._asked_at is not None and self._clock() - self._asked_at < PATIENCE
            return where if patient else None
        self._asked_at = None
        return where

    def tell(self, work: Work, part: Part | None = None) -> None:
        """Tell the player what differs from what it was told before."""
        with self._lock:
            self._latest = work, part
            if self._player is not None:
                self._apply(self._player)

    def _apply(self, player: Player) -> None:
        if self._latest is None:
            return
        work, part = self._latest
        player.change(options_of(work, part))
        voice = voice_of(work.preferences)
        if voice != (self._voice or player.voice):
            player.set_voice(voice)
        self._voice = voice

    def close(self) -> None:
        if self._player is not None:
            self._player.close()


def options_of(work: Work, part: Part | None = None) -> Options:
    """How the player shall play; a link needs the part."""
    from engine.play import Options

    wish = work.preferences
    resting = wish.other_hand / 100
    return Options(
        loop=span(work.loop, work.shown, part) if work.loop is not None else None,
        factor=work.now_tempo / work.written_tempo,
        left=resting if work.hands is Hands.RIGHT else 1.0,
        right=resting if work.hands is Hands.LEFT else 1.0,
        melody=wish.melody_level / 100 if work.melody else 0.0,
        click=work.click,
        click_level=wish.click_level / 100,
        transpose=work.transpose,
    )


def voice_of(wish: Preferences) -> Voice:
    """The voice that the preferences ask for."""
    from engine.play import Voice

    level = wish.reverb / 100
    return Voice(
        wish.soundfont,
        program=wish.program,
        gain=wish.gain,
        level=level,
        melody=wish.melody_program,
    )


def programs_of(wish: Preferences) -> tuple[tuple[int, str], ...]:
    """The instruments of the soundfont that sounds, by number; none where none is found."""
    from engine.play.soundfont import find, programs

    fonts = [Path(wish.soundfont)] if wish.soundfont else find()
    found = programs(fonts[0]) if fonts else ()
    return tuple((each.number, each.name) for each in found if each.bank == 0)


def font_trouble(path: str) -> str:
    """Why a soundfont cannot be used, in one line; empty where it can, or for the first found."""
    from engine.play.soundfont import probe, usable

    try:
        if path:
            probe(Path(path).expanduser())
        else:
            usable()
    except AlbertiError as error:
        return str(error)
    return ""


def player_opener(sound: str, wish: Preferences = DEFAULTS) -> Callable[[], Player]:
    """What opens the player for a value of `--sound`; a value that is none raises InputError."""

    def open_it() -> Player:
        from engine.play import Player

        return Player.open(sound, voice_of(wish))

    if sound in ("auto", "none"):
        return open_it
    player = open_it()
    return lambda: player
