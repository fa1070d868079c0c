"""The laws of undo: every edit, whatever it is, can be taken back and done again."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.song import Hand
from engine.workshop import Cursor, Extent, Work, edits, moves, redo, steering, undo
from tests.tui.desk_helpers import work_on

CHARTS = (
    "| [C] | Am F | G7 | C/E |",
    "| [Ab] | % | Fm . . Eb | N.C. ? |",
    "| [Dm7] | G7sus4 G7 | Cmaj7 | Cmaj7 A7b9 | % | ? |",
)


def _typed(symbol: str) -> st.SearchStrategy[object]:
    return st.just(lambda work: edits.write_symbol(work, work.cursor, symbol))


EDITS = st.one_of(
    *(_typed(symbol) for symbol in ("Bb", "F#m7b5", "?", "N.C.", "C7(b9,#11)/E")),
    st.just(edits.split_slot),
    st.just(edits.join_slot),
    st.just(edits.repeat_bar),
    st.just(edits.new_bar),
    st.just(edits.take_out),
    st.just(edits.copy),
    st.just(edits.paste),
    st.just(moves.next_slot),
    st.just(moves.previous_slot),
    st.just(moves.select),
    st.just(steering.another_take),
    st.just(lambda work: steering.steer(work, "busy", 0.1)),
    st.just(lambda work: steering.steer(work, "outside", -0.1)),
    st.just(lambda work: edits.move_key(work, "m3")),
    st.just(lambda work: steering.set_figure(work, Hand.RIGHT, Extent.BAR, "3 2 1 2")),
    st.just(lambda work: steering.set_figure(work, Hand.LEFT, Extent.SONG, "R . 5 .")),
    st.just(lambda work: edits.begin_section(work, "New")),
)


@settings(max_examples=60, deadline=None)
@given(chart=st.sampled_from(CHARTS), done=st.lists(EDITS, max_size=14))
def test_undo_all_then_redo_all(chart: str, done: list[object]) -> None:
    first = work_on(chart)
    work: Work = first
    for edit in done:
        assert callable(edit)
        work = edit(work)
        assert 1 <= work.cursor.bar <= len(work.song.bars)
        assert 0 <= work.cursor.slot < len(work.bar.slots)
    last = work.song
    steps = len(work.past)
    for _ in range(steps):
        before = work
        work = undo(work)
        assert redo(work).song == before.song
    assert work.song == first.song
    for _ in range(steps):
        work = redo(work)
    assert work.song == last


def test_an_edit_after_undo_forgets_what_could_be_redone() -> None:
    work = edits.write_symbol(work_on("| [C] | F |"), Cursor(1, 0), "D")
    other = edits.write_symbol(undo(work), Cursor(1, 0), "E")
    assert other.future == ()
    assert undo(other).song == work_on("| [C] | F |").song


def test_an_edit_that_changes_nothing_leaves_no_step() -> None:
    work = edits.write_symbol(work_on("| [C] | F |"), Cursor(1, 0), "C")
    assert work.past == ()


def test_what_changed_is_named_by_bar() -> None:
    work = edits.write_symbol(work_on("| [C] | F | G |"), Cursor(2, 0), "Dm")
    assert work.changed == {2}
