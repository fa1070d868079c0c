"""What is changed while it plays is heard at once, and nothing else is touched."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from engine.play.message import CLICKS, MELODY, ON, PIANO, Cancel
from engine.play.transport import AHEAD, GUARD, Options, State
from engine.song import Hand
from tests.play.play_scores import note, scale, score
from tests.play.transport_session import Session, distances, sung


@pytest.mark.parametrize("factor", [0.5, 0.8, 1.25, 2.0])
def test_a_tempo_change_is_heard_within_100_ms(factor: float) -> None:
    session = Session()
    session.play()
    session.pass_time(1.0)
    changed = session.now
    place = session.place
    session.change(factor=factor)
    session.pass_time(1.5)
    after = [at for at, _ in session.keyboard.strikes() if at > changed + 0.1]
    apart = distances(after)
    assert apart == pytest.approx([0.25 / factor] * len(apart))
    turned = changed + GUARD
    expected = place + GUARD / 2 + (session.now - turned) * factor / 2
    assert session.place == pytest.approx(expected, abs=1e-6)
    session.end()


def test_an_edit_is_heard_within_100_ms_and_held_notes_stay() -> None:
    held = note(0, Fraction(3), 40, Hand.LEFT)
    session = Session(score([held, *scale().performance.notes]))
    session.play()
    session.pass_time(1.0)
    changed = session.now
    moved = (replace(each, midi=each.midi + 12) for each in scale().performance.notes)
    session.load(score([held, *moved]))
    session.pass_time(1.0)
    strikes = session.keyboard.strikes()
    assert all(key >= 72 for at, key in strikes if at > changed + 0.1)
    assert [key for _, key in strikes].count(40) == 1
    session.end()


def test_an_edit_elsewhere_leaves_what_is_on_its_way_alone() -> None:
    """Nothing is taken back and nothing sent again: the machine may take its time over it."""
    session = Session()
    session.play()
    session.pass_time(1.0)
    music = scale().performance.notes
    later = [replace(each, midi=each.midi + 1) if each.onset >= 2 else each for each in music]
    assert session.transport.load(score(later), session.now) == []
    session.pass_time(5.5)
    assert 68 in [key for _, key in session.keyboard.strikes()]
    session.end()


def test_an_edit_soon_takes_back_nothing_before_it() -> None:
    session = Session()
    session.play()
    session.pass_time(1.0)
    music = scale().performance.notes
    place = session.place
    soon = next(note for note in music if note.onset > place + 0.06)  # well inside the plan
    edited = [replace(each, midi=90) if each is soon else each for each in music]
    commands = session.transport.load(score(edited), session.now)
    (cancel,) = (each for each in commands if isinstance(each, Cancel))
    struck = GUARD + float(soon.onset) * 2
    assert cancel.at == pytest.approx(struck, abs=0.001)
    assert all(each.at >= cancel.at for each in commands)
    session.obey(commands)
    session.pass_time(1.0)
    assert 90 in [key for _, key in session.keyboard.strikes()]
    session.end()


def test_a_note_taken_out_while_it_sounds_is_let_go() -> None:
    session = Session(score([note(0, Fraction(3), 40)]))
    session.play()
    session.pass_time(1.0)
    session.load(score([]))
    session.pass_time(0.2)
    assert session.keyboard.heard[-1].message.kind == "off"
    assert session.keyboard.heard[-1].at < 1.1
    session.end()


def test_a_muted_hand_falls_silent_and_a_softer_one_softer() -> None:
    hands = [note(Fraction(i, 8), Fraction(1, 8), 50, Hand.LEFT) for i in range(32)]
    session = Session(score([*hands, *scale().performance.notes]))
    session.play()
    session.pass_time(1.0)
    session.change(left=0.0, right=0.5)
    session.pass_time(1.0)
    late = [send for send in session.keyboard.heard if send.at > 1.1 and send.message.value]
    assert {send.message.value for send in late} == {40}
    assert all(send.message.number >= 60 for send in late)
    session.end()


def test_transposed_playback_sounds_transposed() -> None:
    session = Session()
    session.play()
    session.pass_time(0.5)
    session.change(transpose=-3)
    session.pass_time(0.5)
    later = [key for at, key in session.keyboard.strikes() if at > 0.6]
    assert later == [63 - 3]
    session.end()


def test_a_tempo_change_while_counting_in_changes_the_count() -> None:
    session = Session()
    session.play(bars_in=1)
    session.pass_time(GUARD + 0.75 - GUARD)
    session.change(factor=2.0)
    session.pass_time(2)
    clicks = [at for at, _ in session.keyboard.strikes(CLICKS)]
    turned = 0.75 + GUARD
    assert clicks == pytest.approx([0.03, 0.53, turned + 0.125, turned + 0.375])
    assert session.keyboard.strikes()[0][0] == pytest.approx(turned + 0.625)
    session.end()


def test_setting_a_loop_elsewhere_goes_there() -> None:
    session = Session()
    session.play()
    session.pass_time(1.0)
    session.change(loop=(Fraction(2), Fraction(3)))
    session.pass_time(0.2)
    assert 2.0 <= session.place < 2.2
    session.change(loop=None)
    session.pass_time(5)
    assert session.state is State.STOPPED
    session.end()


def test_two_changes_in_one_moment_are_one() -> None:
    session = Session(options=Options(loop=(Fraction(0), Fraction(2))))
    session.play()
    session.pass_time(0.5)
    session.change(left=0.0)
    session.load(scale())
    session.change(click=True)
    session.pass_time(0.5)
    assert session.place == pytest.approx((1.0 - GUARD) / 2, abs=1e-6)
    session.end()


def test_after_the_machine_slept_the_music_goes_on_where_it_broke_off() -> None:
    session = Session()
    session.play()
    session.pass_time(1.0)
    broke_off = session.place + AHEAD / 2
    session.now += 100
    session.keyboard.run(session.now)
    session.obey(session.transport.tick(session.now))
    assert session.place == pytest.approx(broke_off, abs=0.001)
    session.pass_time(0.5)
    session.end()


def test_panic_lets_every_key_go() -> None:
    session = Session()
    session.play()
    session.pass_time(0.5)
    session.obey(session.transport.panic(session.now))
    session.keyboard.run()
    offs = {send.message.number for send in session.keyboard.heard if send.message.kind == "off"}
    assert offs >= set(range(128))
    session.keyboard.judge()


def test_the_melody_sounds_on_its_own_channel_and_is_muted_alone() -> None:
    session = Session(sung())
    session.play()
    session.pass_time(2.5)
    session.change(melody=0.0)
    session.pass_time(2)
    session.change(melody=0.5, left=0.0, right=0.0)
    session.pass_time(5)
    session.end()
    struck = [send.message for send in session.keyboard.heard if send.message.kind == ON]
    melody = [(each.number, each.value) for each in struck if each.channel == MELODY]
    assert melody == [(60, 90), (61, 90), (62, 90), (65, 45), (66, 45), (67, 45)]
    assert max(at for at, _ in session.keyboard.strikes(PIANO)) < 4.6
