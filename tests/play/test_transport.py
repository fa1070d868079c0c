"""The transport plays what the score says: tempo, loops, count-in, click, pedal and ritard."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engine.perform import PedalMove, TempoPoint
from engine.play.message import CLICKS
from engine.play.score import Beat, Score
from engine.play.transport import GUARD, Options, State
from tests.play.play_scores import scale, score
from tests.play.transport_session import Session, distances, moves

HALF = Fraction(1, 2)


def test_plays_the_score_in_its_tempo_and_ends() -> None:
    session = Session(scale(bars=1))
    session.play()
    session.pass_time(3)
    strikes = session.keyboard.strikes()
    assert [key for _, key in strikes] == [60, 61, 62, 63, 64, 65, 66, 67]
    assert [at for at, _ in strikes] == pytest.approx([GUARD + step / 4 for step in range(8)])
    assert session.state is State.STOPPED
    assert session.place == 0
    session.end()


def test_a_loop_repeats_exactly() -> None:
    session = Session(options=Options(loop=(Fraction(1), Fraction(2)), factor=1.37))
    session.play()
    session.pass_time(60)
    strikes = session.keyboard.strikes()
    length = 2 / 1.37
    for number, (at, key) in enumerate(strikes):
        assert key == 60 + number % 8
        assert at == pytest.approx(GUARD + length * (number // 8 + number % 8 / 8), abs=1e-6)
    assert len(strikes) >= 8 * 40
    session.end()


def test_a_loop_may_begin_at_any_beat_and_counts_its_passes() -> None:
    session = Session(options=Options(loop=(Fraction(1, 4), Fraction(5, 8))))
    session.play(Fraction(3))  # outside: begins where the loop does
    session.pass_time(GUARD + 0.75 * 3 + 0.1)
    assert [key for _, key in session.keyboard.strikes()[:7]] == [62, 63, 64, 62, 63, 64, 62]
    where = session.transport.seen.where(session.now)
    assert where.pass_number == 4
    assert where.place == pytest.approx(1 / 4 + 0.1 / 2, abs=0.001)
    session.end()


def test_the_place_runs_with_the_clock() -> None:
    session = Session()
    session.play(Fraction(1))
    for _ in range(50):
        session.pass_time(0.05)
        assert session.place == pytest.approx(max(1.0, 1 + (session.now - GUARD) / 2), abs=1e-6)
    session.end()


def test_count_in_is_a_bar_of_clicks_and_what_lies_before_the_place() -> None:
    session = Session()
    session.play(Fraction(1) + HALF, bars_in=1)
    session.pass_time(1.0)
    where = session.transport.seen.where(session.now)
    assert (where.state, where.place, where.beats_left) == (State.COUNTING, 1.5, 5)
    session.pass_time(3.0)
    clicks = session.keyboard.strikes(CLICKS)
    assert [at for at, _ in clicks] == pytest.approx([GUARD + beat / 2 for beat in range(6)])
    assert [key for _, key in clicks] == [76, 77, 77, 77, 76, 77]
    first, key = session.keyboard.strikes()[0]
    assert first == pytest.approx(GUARD + 3.0)
    assert key == 64
    session.end()


def test_the_click_weighs_downbeats_and_groups() -> None:
    """5/4 in groups of 3 and 2: a click on every quarter, stress on the first and fourth."""
    beats = tuple(Beat(Fraction(i, 4), (2, 0, 0, 1, 0)[i]) for i in range(5))
    five = Score(
        score([], 2).performance, beats, ((Fraction(0), Fraction(5, 4), Fraction(1, 4)),),
        score([]).steady,
    )  # fmt: skip
    session = Session(five, Options(click=True, click_level=1.0))
    session.play()
    session.pass_time(3)
    sounded = [
        (send.message.number, send.message.value)
        for send in session.keyboard.heard
        if send.message.kind == "on"
    ]
    assert sounded == [(76, 115), (77, 75), (77, 75), (76, 80), (77, 75)]
    session.end()


def test_the_ritard_is_played_to_the_end_but_not_in_loops() -> None:
    tempo = (TempoPoint(Fraction(0), 120.0), TempoPoint(Fraction(1), 60.0))
    music = score(scale(2).performance.notes, 2, tempo=tempo)
    once = Session(music)
    once.play(Fraction(1))
    once.pass_time(5)
    apart = distances([at for at, _ in once.keyboard.strikes()])
    assert apart == pytest.approx([0.5] * 7)
    looped = Session(music, Options(loop=(Fraction(1), Fraction(2))))
    looped.play()
    looped.pass_time(5)
    apart = distances([at for at, _ in looped.keyboard.strikes()])
    assert apart == pytest.approx([0.25] * len(apart))
    once.end()
    looped.end()


def test_the_pedal_is_lifted_between_passes_and_pressed_where_a_pass_begins_in_it() -> None:
    pedal = [PedalMove(Fraction(0), 127), PedalMove(Fraction(2), 0)]
    session = Session(score(scale().performance.notes, pedal=pedal))
    session.change(loop=(Fraction(1), Fraction(3, 2)))
    session.play()
    session.pass_time(2.5)
    times, values = moves(session)
    assert times == pytest.approx([0.03, 1.03, 1.09, 2.03, 2.09])
    assert values == [127, 0, 127, 0, 127]
    session.end()
    assert session.keyboard.controls()[-1][1] == 0


def test_a_pedal_move_waits_for_its_delay_whatever_the_tempo() -> None:
    pedal = [PedalMove(Fraction(1, 4), 127, 120.0), PedalMove(Fraction(1, 2), 0, 10.0)]
    session = Session(score([], pedal=pedal), Options(factor=2.0))
    session.play()
    session.pass_time(2)
    times, values = moves(session)
    assert times == pytest.approx([GUARD + 0.25 + 0.12, GUARD + 0.5 + 0.01])
    assert values == [127, 0]
    session.end()
