"""The law of the keyboard: whatever is done and however long, nothing sticks or drifts."""

from __future__ import annotations

import sys
from contextlib import suppress
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import AlbertiError
from engine.perform import PedalMove
from engine.play.message import Send
from engine.play.score import Score, score_of
from engine.play.transport import GUARD, Options, Transport
from engine.song import Hand, Scope, Song, delete_bars, read_song, set_setting, set_slot
from engine.workshop import performance_of
from tests.play.play_scores import WHOLE, note, score
from tests.play.transport_session import Session, sung

HALF = Fraction(1, 2)


def test_eight_hours_of_a_loop_leave_nothing_behind() -> None:
    """In fast-forward, on a clock that jumps: counters right, nothing grows."""
    transport = Transport(
        score([note(0, HALF, 50), note(HALF, HALF, 62)], 1, quarters=96.0),
        Options(loop=(Fraction(0), WHOLE), click=True),
    )
    pending: list[Send] = []
    struck = 0
    now = 0.0
    transport.play(Fraction(0), now)
    sizes = set()
    blocks: list[int] = []
    while now < 8 * 3600:
        now += 0.29
        if now >= (1 + 7 * len(blocks)) * 3600 - 1:  # after the first hour and the last
            blocks.append(sys.getallocatedblocks())
        commands = transport.tick(now)
        struck += sum(
            1 for each in commands if isinstance(each, Send) and each.message.kind == "on"
        )
        pending = [each for each in commands if isinstance(each, Send)]
        sizes.add((len(transport.seen.runs), len(transport._ledger._sent), len(transport._struck)))
    passes = (now - GUARD) / 2.5
    assert transport.seen.where(now).pass_number == int(passes) + 1
    assert transport.seen.where(now).place == pytest.approx(passes % 1, abs=1e-3)
    assert struck == pytest.approx(passes * 6, abs=8)  # two notes and four clicks a pass
    assert max(sizes) < (4, 12, 12)
    assert len(pending) < 12
    assert len(blocks) == 2
    # Python's own count of what is allocated: one block a pass would be ten thousand.
    assert blocks[1] - blocks[0] < 2000


places = st.integers(0, 32).map(lambda eighths: Fraction(eighths, 8))
played = st.builds(
    note,
    places,
    st.sampled_from([Fraction(1, 16), Fraction(1, 8), HALF, Fraction(2)]),
    st.integers(55, 62),
    st.sampled_from(list(Hand)),
    st.integers(1, 127),
    st.sampled_from([0.0, 5.0, 40.0]),
)
pedals = st.builds(
    PedalMove, places, st.sampled_from([0, 127]), st.sampled_from([0.0, 10.0, 121.0])
)
scores = st.builds(
    lambda notes, moves, bars: score(notes, bars, pedal=sorted(moves, key=lambda m: m.onset)),
    st.lists(played, max_size=25),
    st.lists(pedals, max_size=6),
    st.integers(1, 4),
)
loops = st.none() | st.tuples(places, places).filter(lambda pair: pair[0] < pair[1])
actions = st.one_of(
    st.tuples(st.just("load"), scores),
    st.tuples(st.just("factor"), st.sampled_from([0.25, 0.7, 1.0, 1.6, 4.0])),
    st.tuples(st.just("loop"), loops),
    st.tuples(st.sampled_from(["left", "right"]), st.sampled_from([0.0, 0.5, 1.0])),
    st.tuples(st.just("click"), st.booleans()),
    st.tuples(st.just("transpose"), st.integers(-3, 3)),
    st.tuples(st.just("play"), places),
    st.tuples(st.just("count"), places),
    st.tuples(st.just("stop"), st.none()),
    st.tuples(st.just("panic"), st.none()),
    st.tuples(st.just("sleep"), st.none()),
)
steps = st.lists(
    st.tuples(actions, st.sampled_from([0.0, 0.001, 0.013, 0.05, 0.21, 0.6, 1.7])), max_size=14
)


@settings(deadline=None, max_examples=250)
@given(scores, steps)
def test_whatever_is_done_while_it_plays_no_key_sticks_or_sounds_twice(
    first: Score,
    steps: list[tuple[tuple[str, Any], float]],
) -> None:
    """Every note-on has its note-off, at most one a key, pedal up at stop, nothing late."""
    session = Session(first)
    session.play()
    for (kind, value), wait in steps:
        if kind == "load":
            session.load(value)
        elif kind == "play":
            session.play(value)
        elif kind == "count":
            session.play(value, bars_in=1)
        elif kind == "stop":
            session.obey(session.transport.stop(session.now))
        elif kind == "panic":
            session.obey(session.transport.panic(session.now))
        elif kind == "sleep":
            session.now += 5
            session.keyboard.run(session.now)
            session.obey(session.transport.tick(session.now))
        else:
            session.change(**{kind: value})
        where = session.transport.seen.where(session.now)
        assert 0 <= where.place <= 4
        session.pass_time(wait, step=0.11)
    session.end()


@given(st.lists(st.tuples(st.floats(0.05, 1.2), st.sampled_from([0.0, 0.4, 1.0])), max_size=8))
@settings(deadline=None, max_examples=40)
def test_muting_the_melody_at_any_time_leaves_no_key_down(
    changes: list[tuple[float, float]],
) -> None:
    session = Session(sung(), Options(loop=(Fraction(0), Fraction(2))))
    session.play()
    for seconds, level in changes:
        session.pass_time(seconds)
        session.change(melody=level)
    session.end()


CHORDS = ("C", "G/B", "Am7", "F#m7b5", "Db", "N.C.", "Eb6/9", "?")
FIGURES = ("1 2 3 2", "1 2 3 2 1 2 3 2", "x 1 2 3", "1 A 3 2/16", "after the beat")
edited = st.one_of(
    st.tuples(st.just("chord"), st.integers(1, 4), st.sampled_from(CHORDS)),
    st.tuples(st.just("right"), st.integers(1, 4), st.sampled_from(FIGURES)),
    st.tuples(st.just("left"), st.integers(1, 4), st.sampled_from(("R . . .", "R 5 8 5", "x"))),
    st.tuples(st.just("delete"), st.integers(1, 3), st.just("")),
    st.tuples(st.just("undo"), st.just(1), st.just("")),
)


def edit(song: Song, kind: str, number: int, text: str) -> Song:
    """The song after an edit of a bar; the same song where it is refused."""
    bar = min(number, len(song.bars))
    with suppress(AlbertiError):
        if kind == "chord":
            return set_slot(song, bar, 0, text)
        if kind == "delete" and len(song.bars) > 2:
            return delete_bars(song, bar, bar)
        if kind in ("right", "left"):
            return set_setting(song, Scope(bar=bar), kind, text)
    return song


@settings(deadline=None, max_examples=25)
@given(
    st.lists(st.tuples(edited, st.sampled_from([0.0, 0.02, 0.11, 0.4, 0.9])), max_size=10),
    st.sampled_from([None, (Fraction(0), Fraction(2)), (Fraction(1, 4), Fraction(9, 8))]),
)
def test_whatever_song_is_typed_while_it_plays_no_key_sticks_or_sounds_twice(
    edits: list[tuple[tuple[str, int, str], float]],
    loop: tuple[Fraction, Fraction] | None,
) -> None:
    """The whole way from the edit to the keys: arranged, performed and planned anew each time."""
    song = read_song(
        'format = 1\ntitle = "Edited"\nkey = "C major"\nmeter = "4/4"\ntempo = 150\n'
        '[[section]]\nname = "A"\nchart = "| C | Am | F | G7 |"\n'
    )
    past = [song]
    session = Session(score_of(performance_of(song), song), Options(loop=loop))
    session.play()
    for (kind, number, text), wait in edits:
        if kind == "undo":
            song = past.pop() if len(past) > 1 else song
        else:
            past.append(song)
            song = edit(song, kind, number, text)
        with suppress(AlbertiError):
            session.load(score_of(performance_of(song), song))
        session.pass_time(wait, step=0.07)
    session.end()
