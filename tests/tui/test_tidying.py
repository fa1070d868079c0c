"""What is no longer needed is cleared away in the pauses between keys."""

from __future__ import annotations

import gc

from tui.tidying import AT_LATEST, Tidying


class Told:
    """A clock that the test turns, and a look that takes so long."""

    def __init__(self, seconds: float = 0.01) -> None:
        self.now, self._seconds = 0.0, seconds
        self.looks: list[float] = []

    def collect(self) -> None:
        self.looks.append(self.now)
        self.now += self._seconds

    def play(self, tidying: Tidying, seconds: float, key_every: float = 1e9) -> None:
        """Look thirty times a second, and press a key every so often."""
        end, last = self.now + seconds, self.now
        while self.now < end:
            self.now += 1 / 30
            if self.now - last >= key_every:
                last = self.now
                tidying.pressed()
            tidying.look()


def test_it_waits_until_no_key_has_come_for_a_moment() -> None:
    told = Told()
    tidying = Tidying(lambda: told.now, told.collect)
    told.play(tidying, 60, key_every=0.2)
    assert told.looks == []
    told.play(tidying, 0.5)
    assert len(told.looks) == 1


def test_keys_that_never_pause_put_it_off_but_not_for_ever() -> None:
    told = Told()
    tidying = Tidying(lambda: told.now, told.collect)
    told.play(tidying, 2.5 * AT_LATEST, key_every=0.1)
    assert len(told.looks) == 2


def test_the_longer_it_takes_the_less_often_it_is_done() -> None:
    quick, slow = Told(0.01), Told(0.5)
    quick.play(Tidying(lambda: quick.now, quick.collect), 600)
    slow.play(Tidying(lambda: slow.now, slow.collect), 600)
    assert 30 <= len(quick.looks) <= 40
    assert len(slow.looks) <= 7


def test_python_does_as_it_did_before_when_it_ends() -> None:
    before = gc.get_threshold()
    tidying = Tidying()
    tidying.begin()
    assert gc.get_threshold()[:2] == before[:2]
    assert gc.get_threshold()[2] > before[2]
    tidying.end()
    assert gc.get_threshold() == before
    assert gc.get_freeze_count() == 0
