"""Other harmonies and the melody by keys: what is tried out, heard, taken, undone or left."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engine.reharm import MOVES
from engine.song import read_song, write_song
from engine.song.melody import melody_notes
from engine.workshop import (
    Effect,
    Find,
    Ideas,
    Loop,
    Play,
    Stop,
    Tone,
    Work,
    answer,
    open_work,
    reharmonise,
    stages,
)
from tests.tui.desk_helpers import after, ran, work_on
from tests.tui.still_life import still_stages
from tui.commands import Keymap, table
from tui.glow import differing_notes
from tui.keys import press
from tui.lists import found

SUNG = """format = 1
title = "Sung"
key = "C major"
meter = "4/4"
tempo = 80

[[section]]
name = "A"
chart = "| C | Am | F G | C | C | Am | F G7 | C |"
melody = "E4 G4 | A8 | A4 B4 | c8 | E4 G4 | A8 | A4 B4 | c8 |"
"""


def sung(bar: int = 1) -> Work:
    work = open_work(read_song(SUNG))
    return replace(work, cursor=work.cursor._replace(bar=bar))


KEYMAP = Keymap()


def asked(effects: tuple[Effect, ...]) -> Find:
    """The one thing asked for."""
    (find,) = effects
    assert isinstance(find, Find)
    return find


def names(work: Work) -> list[str]:
    return [note.pitch.name for note in melody_notes(work.song)]


def chords(work: Work) -> list[list[object]]:
    """Each bar's chords."""
    return [[slot.chord for slot in bar.slots] for bar in work.song.bars]


# Suggestions


def test_moving_in_the_list_plays_the_place_in_context_and_closing_puts_all_back() -> None:
    work, effects = ran(sung(3), "o↓")
    assert effects == [Play(work.song.bars[1].start)]
    assert (work.loop, work.playing) == (Loop(2, 4), True)
    further, effects = ran(work, "↓↓")
    assert effects == []  # it plays on, with the next chord in place
    assert further.trial not in (None, work.trial)
    left, effects = ran(further, "⎋")
    assert effects == [Stop()]
    assert left == replace(sung(3), ideas=left.ideas)


def test_a_loop_and_playing_of_the_players_own_go_on_when_the_list_closes() -> None:
    work = after(sung(1), "l ")
    assert work.loop == Loop(1, 1)
    closed, effects = ran(work, "o↓⏎")
    assert effects == []
    assert (closed.loop, closed.playing) == (Loop(1, 1), True)


def test_space_makes_the_list_silent_and_keeps_it_so() -> None:
    work = after(sung(1), "o↓")
    silent, effects = ran(work, " ")
    assert effects == [Stop()]
    assert ran(silent, "↓↓")[1] == []
    assert ran(silent, " ")[1] == [Play(work.song.bars[0].start)]


def test_a_against_b_with_one_key_and_a_choice_is_one_step_of_undo() -> None:
    work = after(sung(2), "o↓")
    assert after(work, "⇥").shown == work.song
    assert after(work, "⇥⇥").shown == work.trial
    taken = after(work, "⏎")
    assert taken.song == work.trial
    assert taken.past[-1].name.startswith("Bar 2: ")
    assert after(taken, "u").song == work.song


def test_all_like_places_take_it_and_say_how_many() -> None:
    work = after(sung(2), "o↓a")
    assert work.song.bars[1].slots[0].typed == work.song.bars[5].slots[0].typed != "Am"
    assert "2 like places" in work.notice.text
    assert after(work, "u").song == sung().song


def test_the_list_is_for_the_chord_or_its_whole_bar() -> None:
    chord = after(sung(3), "o")
    bar = after(sung(3), "oo")
    assert bar.chooser is not None
    assert len(after(chord, "↓⏎").song.bars[2].slots) == 2
    whole = after(bar, "↓⏎").song
    assert whole.bars[2] != sung().song.bars[2]
    assert whole.bars[1].slots == sung().song.bars[1].slots
    assert "whole bar" in after(sung(1), "oo").notice.text


def test_the_dial_goes_from_near_to_far_and_ends_there() -> None:
    work = after(sung(2), "o")
    far = after(work, "→→")
    assert far.nearness == 1
    assert far.ideas is not None
    assert work.ideas is not None
    assert far.ideas.found != work.ideas.found
    assert "far" in after(far, "→").notice.text
    assert after(far, "←←←←").nearness == 0


def test_ways_for_selected_bars_show_their_chords_and_change_only_those() -> None:
    work = after(sung(1), "v→→→o↓")
    assert work.trial is not None
    taken = after(work, "⏎")
    assert taken.anchor is None
    assert taken.past[-1].name.startswith("Bars 1–3: ")
    same = [one == other for one, other in zip(chords(taken), chords(sung()), strict=True)]
    assert not all(same[:3])
    assert all(same[3:])
    assert after(taken, "u").song == sung().song


def test_an_answer_that_comes_late_is_tried_out_and_one_no_longer_wanted_is_dropped() -> None:
    opened = press(sung(2), "o", "o", KEYMAP)
    find = asked(opened.effects)
    moved = press(opened.work, "down", None, KEYMAP).work
    assert moved.trial is None
    answered = found(moved, answer(find.ask), KEYMAP)
    assert answered.work.trial is not None
    closed = press(moved, "escape", None, KEYMAP).work
    assert found(closed, answer(find.ask), KEYMAP).work == closed


def test_a_place_that_cannot_have_chords_says_why() -> None:
    work = work_on("| [C] | F |")
    opened = press(work, "o", "o", KEYMAP)
    find = asked(opened.effects)
    told = found(opened.work, Ideas(find.ask, trouble="no chord may stand here"), KEYMAP).work
    assert "Nothing" in after(told, "↓⏎").notice.text
    assert after(told, "↓⏎").song == work.song


# Why not


def test_what_speaks_against_a_chord_is_weighed_while_it_is_typed() -> None:
    work = after(sung(2), "Bb")  # the melody holds A, a semitone under B flat
    assert work.weighed is not None
    assert any("semitone" in text for text in work.weighed.against)
    good = after(sung(2), "F")
    assert good.weighed is not None
    assert not any("semitone" in text for text in good.weighed.against)


def test_what_speaks_against_the_chord_that_stands_is_said_on_a_key() -> None:
    taken = after(sung(2), "Bb⏎←Y")
    assert taken.notice.text.startswith("Against B♭: ")
    fine = after(sung(1), "Y")
    assert fine.notice.text.startswith("Nothing speaks against C")
    assert fine.song == sung().song


# The whole song


@pytest.mark.parametrize("name", [name for name, _ in reharmonise.MOVES])
def test_a_move_of_the_whole_song_is_one_named_step(name: str) -> None:
    title = next(command.title for command in table() if command.name == f"song-{name}")
    work = work_on("| [C] | Am7 F | Dm G7 | F C |")
    moved = after(work, [*":", *title, "enter"])
    assert moved.song != work.song
    assert moved.past[-1].name.startswith("Whole song: ")
    assert after(moved, "u").song == work.song
    assert "Undone: Whole song" in after(moved, "u").notice.text


def test_every_move_of_the_reharmoniser_has_a_command_and_a_line() -> None:
    assert [move.name for move in MOVES] == [name for name, _ in reharmonise.MOVES]
    tried = after(sung(), "*↓")
    assert tried.trial is not None
    assert after(tried, "⇥").trial is None
    assert after(tried, "⎋").song == sung().song


def test_a_move_is_heard_where_it_changes_something_first() -> None:
    work, effects = ran(work_on("| [C] | Dm | G | C | F | G7 | C | C |"), "*↓")
    assert effects == []  # it begins only when asked to
    assert work.trial is not None
    heard, effects = ran(work, " ")
    assert heard.loop == Loop(5, 8)
    assert effects == [Play(work.song.bars[4].start)]
    assert ran(heard, "⎋")[0].loop is None


def test_a_move_with_nothing_to_do_says_so() -> None:
    work = after(work_on("| [C] | F | G |"), [*":", *"simpler", "enter"])
    assert work.notice.tone is Tone.REFUSAL
    assert "triad already" in work.notice.text


# Melody


def test_a_melody_is_typed_bar_by_bar_tried_out_and_undone() -> None:
    work = after(work_on("| [C] | F |"), "UE2G2")
    assert work.trial is not None
    taken = after(work, "⏎")
    assert names(taken) == ["E4", "G4"]
    assert taken.cursor.bar == 2
    more = after(taken, "UA8⏎")
    assert names(more) == ["E4", "G4", "A4"]
    assert read_song(write_song(more.song)) == more.song
    assert names(after(more, "u")) == ["E4", "G4"]
    assert after(work, "⎋").song == work.song


def test_a_melody_that_cannot_be_read_stays_open_with_its_place() -> None:
    work = after(work_on("| [C] | F |"), "UE4G4c⏎")
    assert work.entry is not None
    assert "too long" in work.notice.text
    assert work.trial is not None  # the last line that could be read is still heard
    assert [note.pitch.name for note in melody_notes(work.trial)] == ["E4", "G4"]


def test_a_melody_of_several_bars_and_one_taken_out() -> None:
    work = after(sung(1), ["v", "right", "U"])
    assert work.entry is not None
    assert work.entry.text == "E4 G4 | A8"
    gone = after(work, ["ctrl+u", "enter"])
    assert names(gone) == names(sung())[3:]


def test_the_melody_is_muted_alone() -> None:
    assert not after(sung(), "Q").melody
    assert after(sung(), "QQ").melody
    assert after(sung(), "H").melody
    refused = after(work_on("| [C] |"), "Q")
    assert refused.notice.tone is Tone.REFUSAL
    assert "U writes one" in refused.notice.text


def test_a_range_offers_keys_for_that_voice() -> None:
    work = after(sung(), [*"TA3-E4", "enter"])  # G below to c is an octave and more: too wide
    assert work.chooser is not None
    moved = after(work, "↓⏎")
    assert moved.song.key != sung().song.key
    assert moved.past[-1].name.endswith("for a voice")
    assert after(work, "⎋").song == sung().song
    assert "A3-D5" in after(sung(), [*"TD5-A3", "enter"]).notice.text


# What changed is shown


def test_only_bars_whose_notes_changed_are_marked() -> None:
    work = work_on("| [C] | Am | F | G | C | Am | F | G |")
    before = stages(work.song)
    edited = after(work, "→→→→Em⏎")
    marks = differing_notes(before, stages(edited.song))
    assert 5 in marks
    assert not marks & {1, 2, 3}
    assert differing_notes(before, before) == frozenset()


def test_bars_put_in_are_marked_and_not_those_moved_by_them() -> None:
    work = work_on("| [C] | Am | F | G | C | Am | F | G |")
    longer = after(work, "n")
    assert differing_notes(still_stages(work.song), still_stages(longer.song)) == {2}
    assert differing_notes(still_stages(longer.song), still_stages(work.song)) == frozenset()
