"""Step mode by key and by MIDI keyboard: it waits for the right notes and names the others."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from engine.song import read_song
from engine.workshop import (
    Cursor,
    Hands,
    Listen,
    Loop,
    Stop,
    Strike,
    Tone,
    Work,
    open_work,
    part_of,
    stepping,
)


def work(**changes: object) -> Work:
    song = read_song(
        'format = 1\nkey = "C major"\ntempo = 80\nright = "1 2 3 2"\nleft = "R . . ."\n'
        '[[section]]\nname = "A"\nchart = "| C | F | G7 | C |"\n'
    )
    return replace(open_work(song), **changes)  # type: ignore[arg-type]


def begun(**changes: object) -> Work:
    start = work(**changes)
    return stepping.begin_steps(start, part_of(start.song)).work


def strike_group(on: Work) -> Work:
    assert on.steps is not None
    keys = sorted(on.steps.group.keys)
    return stepping.heard(on, [*((key, True) for key in keys), *((key, False) for key in keys)])


def begin_of(on: Work) -> Work:
    """The player lets go and goes back to the loop's first group with the first key of it."""
    assert on.steps is not None
    key = min(on.steps.groups[0].keys)
    after = stepping.heard(on, [(key, True), (key, False)])
    assert after.step in (on.steps.groups[0].onset, on.steps.groups[1].onset)
    return after if after.step == on.steps.groups[0].onset else stepping.step_on(after, -1).work


def test_it_begins_at_the_cursor_sounds_the_group_and_looks_for_a_keyboard_quietly() -> None:
    start = work(cursor=Cursor(2, 0))
    after, effects = stepping.begin_steps(start, part_of(start.song))
    assert after.step == 1
    assert effects == (Stop(), Strike(Fraction(1)), Listen(quiet=True))


def test_it_waits_for_the_right_keys_and_marks_wrong_and_missing() -> None:
    on = begun(keyboard="a piano")
    assert on.steps is not None
    wanted = sorted(on.steps.group.keys)
    stranger = max(wanted) + 1
    slipped = stepping.heard(on, [(stranger, True), (wanted[0], True)])
    assert slipped.steps is not None
    assert slipped.step == on.step
    assert slipped.steps.wrong == {stranger}
    assert slipped.steps.right == {wanted[0]}
    assert slipped.steps.missing == set(wanted[1:])
    moved = stepping.heard(slipped, [(key, True) for key in wanted[1:]])
    assert moved.step is not None
    assert moved.step > 0
    assert moved.steps is not None
    assert moved.steps.slips == 1


def test_a_loop_begins_again_and_the_part_ends_with_a_count() -> None:
    on = begun(loop=Loop(2, 2), keyboard="a piano")
    assert on.steps is not None
    count = len(on.steps.groups)
    for _ in range(count):
        on = strike_group(on)
    assert "all right" in on.notice.text
    assert on.steps is not None
    assert on.steps.finished
    again = strike_group(begin_of(on))
    assert again.step == on.steps.groups[1].onset
    first = begun(loop=Loop(2, 2)).step
    last = stepping.step_on(begun(loop=Loop(2, 2)), -1).work
    assert first == 1
    assert last.step is not None
    assert last.step > first  # back from the first is round to the last
    assert stepping.step_on(last, 1).work.step == first


def test_without_a_loop_it_ends_where_the_part_ends() -> None:
    refused = stepping.step_on(begun(), -1).work
    assert refused.notice.tone is Tone.REFUSAL
    assert refused.step == 0


def test_hands_apart_step_through_that_hand_only() -> None:
    both, left = begun().steps, begun(hands=Hands.LEFT).steps
    assert both is not None
    assert left is not None
    assert len(left.groups) < len(both.groups)
    assert {note.hand.value for group in left.groups for note in group.notes} == {"left"}


def test_the_keyboard_plays_in_the_key_that_is_heard() -> None:
    """Heard two semitones higher, the keys to strike are two semitones higher."""
    on = begun(transpose=2)
    assert on.steps is not None
    moved = stepping.heard(on, [(key + 2, True) for key in on.steps.group.keys])
    assert moved.step != on.step


def test_an_edit_keeps_the_place() -> None:
    on = stepping.step_on(begun(), 5).work
    other = read_song(
        'format = 1\nkey = "C major"\ntempo = 80\nright = "3 2 1 2"\nleft = "R . . ."\n'
        '[[section]]\nname = "A"\nchart = "| C | Dm | G7 | C |"\n'
    )
    again = stepping.regrouped(replace(on, song=other), part_of(other))
    assert again.step == on.step
    assert again.steps != on.steps


def test_a_held_chord_is_written_over_the_one_under_the_cursor() -> None:
    quiet = stepping.write_held(work())
    assert not isinstance(quiet, Work)
    assert quiet.effects == (Listen(),)  # it looks for the keyboard first
    none = stepping.write_held(work(keyboard="a piano"))
    assert isinstance(none, Work)
    assert "hold a chord" in none.notice.text
    held = stepping.heard(work(keyboard="a piano"), [(50, True), (53, True), (57, True)])
    assert stepping.held_symbol(held) == "Dm"
    written = stepping.write_held(held)
    assert isinstance(written, Work)
    assert written.song.bars[0].slots[0].typed == "Dm"
    assert stepping.heard(written, [(50, False), (53, False), (57, False)]).held == ()
