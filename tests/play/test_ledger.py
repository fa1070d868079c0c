"""The ledger: a plan is changed in the middle, and the keyboard still obeys its law."""

from __future__ import annotations

from engine.play.ledger import Ledger, only_changes
from engine.play.message import CONTROL, OFF, ON, PEDAL, PIANO, Cancel, Message, Send

KEY = (PIANO, 60)


def on(at: float, key: int = 60) -> Send:
    return Send(at, Message(ON, PIANO, key, 80))


def off(at: float, key: int = 60) -> Send:
    return Send(at, Message(OFF, PIANO, key))


def pedal(at: float, value: int) -> Send:
    return Send(at, Message(CONTROL, PIANO, PEDAL, value))


def test_a_pedal_sent_ahead_of_the_notes_it_joins_is_taken_back_with_what_follows() -> None:
    ledger = Ledger()
    ledger.press(1.06, 127)
    ledger.strike(1.0, KEY, 80, "note")
    ledger.cut(1.03)
    assert (ledger.pedal, ledger.down) == (0, {KEY: "note"})
    assert ledger.sent_from(0.0) == [on(1.0)]


def test_no_cut_falls_next_to_what_was_sent() -> None:
    ledger = Ledger()
    ledger.strike(1.0, KEY, 80, "note")
    ledger.release(1.5, KEY, "note")
    assert ledger.gap(0.7) == 0.7
    for near in (1.0, 1.0 - 1e-9, 1.0 + 1e-9):
        assert 0.999 < ledger.gap(near) < 1.0 - 1e-6
    assert 1.0 + 1e-6 < ledger.gap(1.5) < 1.5 - 1e-6


def test_only_what_differs_is_sent_again() -> None:
    old = [on(1.0), pedal(1.06, 127), off(1.2), on(1.4, 64)]
    new = [pedal(1.06 + 1e-12, 127), on(1.0 - 1e-12), off(1.2), on(1.4, 65)]
    cancel, *rest = only_changes(old, new)
    assert isinstance(cancel, Cancel)
    assert 1.2 < cancel.at < 1.4  # also what sounds a rounding before its time is taken back
    assert rest == [on(1.4, 65)]
    assert only_changes(old, [*old[1:], old[0]]) == []


def test_what_comes_after_the_old_plan_takes_nothing_back() -> None:
    assert only_changes([on(1.0)], [on(1.0), off(1.2)]) == [off(1.2)]
