"""The tempo ladder's laws, and tempo by tapping."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.play.ladder import Ladder, begin, clean_pass, slip
from engine.play.tap import Taps, tap

ladders = st.builds(
    lambda start, rise, step, needed, back: begin(
        start, start + rise, step, needed, step_back=back
    ),
    st.integers(20, 120),
    st.integers(0, 80),
    st.integers(1, 12),
    st.integers(1, 5),
    st.booleans(),
)


@settings(deadline=None, max_examples=150)
@given(ladders, st.lists(st.booleans(), max_size=80))
def test_the_tempo_rises_only_after_clean_passes_in_a_row(
    ladder: Ladder, passes: list[bool]
) -> None:
    in_a_row = 0
    for clean in passes:
        before = ladder
        ladder = clean_pass(ladder) if clean else slip(ladder)
        in_a_row = in_a_row + 1 if clean else 0
        assert ladder.start <= ladder.now <= ladder.goal
        if ladder.now > before.now or ladder.best > before.best:
            assert in_a_row == ladder.clean_needed
            assert ladder.best == max(before.best, before.now)
        if in_a_row == ladder.clean_needed:
            in_a_row = 0
        if not clean:
            lower = max(ladder.start, before.now - ladder.step)
            assert ladder.now == (lower if ladder.step_back else before.now)
            assert ladder.clean == 0


@settings(deadline=None, max_examples=100)
@given(ladders)
def test_without_a_slip_it_takes_the_passes_of_every_rung(ladder: Ladder) -> None:
    rungs = math.ceil((ladder.goal - ladder.start) / ladder.step) + 1
    count = 0
    while not ladder.reached:
        ladder = clean_pass(ladder)
        count += 1
    assert count == rungs * ladder.clean_needed
    assert ladder.now == ladder.goal


@pytest.mark.parametrize(
    ("start", "goal", "step", "needed"),
    [(80, 60, 4, 3), (0, 60, 4, 3), (40, 60, 0, 3), (40, 60, 4, 0)],
)
def test_a_ladder_that_does_not_rise_is_refused(
    start: float, goal: float, step: float, needed: int
) -> None:
    with pytest.raises(InputError):
        begin(start, goal, step, needed)


def taps(*times: float) -> Taps:
    found = Taps()
    for at in times:
        found = tap(found, at)
    return found


def test_taps_give_the_tempo_of_their_distances() -> None:
    assert taps(1.0).tempo is None
    assert taps(1.0, 1.5, 2.0, 2.5).tempo == pytest.approx(120)
    assert taps(*(n * 60 / 72 for n in range(12))).tempo == pytest.approx(72)


def test_a_tap_gone_astray_changes_little_and_a_pause_begins_anew() -> None:
    assert taps(0, 0.5, 1.0, 1.43, 2.0, 2.5).tempo == pytest.approx(120)
    assert taps(0, 0.5, 1.0, 1.02, 1.5).tempo == pytest.approx(120)  # a key that bounced
    assert taps(0, 0.5, 1.0, 10.0, 11.0).tempo == pytest.approx(60)
