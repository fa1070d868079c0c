"""State before, keys, state after: what a pianist types and what then stands, with no screen."""

from __future__ import annotations

from dataclasses import replace

import pytest

from engine.errors import FigureError
from engine.figures import Figure, parse_figure
from engine.song import Hand
from engine.workshop import KeepFigure, Loop, Pane, Play, Quit, Save, Stop, Tone, stages
from tests.tui.desk_helpers import after, drawn, ran, work_on
from tui import lists
from tui.commands import Keymap
from tui.view import View
from tui.widgets.lists import draw_list

CHART = [
    # moving
    ("| [C] | Am F | G |", "→", "| C | [Am] F | G |"),
    ("| [C] | Am F | G |", "→→", "| C | Am [F] | G |"),
    ("| C | Am F | [G] |", "→", "| C | Am F | [G] |"),
    ("| C | [Am] F | G |", "←", "| [C] | Am F | G |"),
    ("| [C] | D | E | F | G | A |", "↓", "| C | D | E | F | [G] | A |"),
    ("| C | D | E | [F] | G | A |", "↓", "| C | D | E | F | G | [A] |"),
    ("| C | D | E | F | [G] | A |", "↑", "| [C] | D | E | F | G | A |"),
    ("| C | Am F | [G] |", "⇤", "| [C] | Am F | G |"),
    ("| [C] | Am F | G |", "j3⏎", "| C | Am F | [G] |"),
    # writing chords: Enter takes the chord and goes on
    ("| [C] | Am F | G |", "Dm7⏎", "| Dm7 | [Am] F | G |"),
    ("| [C] | Am F | G |", "Eb/G⏎Bb⏎", "| Eb/G | Bb [F] | G |"),
    ("| [C] | Am F | G |", "D⎋", "| [C] | Am F | G |"),
    ("| [C] | Am F | G |", "D⌫⏎", "| [C] | Am F | G |"),
    ("| [C] | Am F | G |", "N.C.⏎", "| N.C. | [Am] F | G |"),
    ("| [C] | Am F | G |", "⏎⌫?⏎", "| ? | [Am] F | G |"),
    ("| [C] | Am F | G |", "⏎m7⏎", "| Cm7 | [Am] F | G |"),
    ("| [C] | Am F | G |", "⏎⌫am⏎", "| Am | [Am] F | G |"),  # a small root is meant large
    # with blanks it is the whole bar
    ("| [C] | Am F | G |", "C Em Dm G⏎", "| C Em Dm G | [Am] F | G |"),
    ("| [C] | Am F | G |", "iFm . . Eb⏎".replace("i", "i⌫"), "| [Fm] Eb | Am F | G |"),
    # dividing, joining, repeating
    ("| [C] | Am F | G |", ".", "| C [C] | Am F | G |"),
    ("| C | [Am] F | G |", ".", "| C | Am [Am] F | G |"),
    ("| C | Am [F] | G |", "x", "| C | [Am] | G |"),
    ("| C | [Am] F | G |", "x", "| C | [F] | G |"),
    ("| [C] | Am F | G |", "x", "| [C] | Am F | G |"),
    ("| C | [Am] F | G |", "%", "| C | [%] | G |"),
    ("| [C] | Am | G |", "%", "| [C] | Am | G |"),
    # bars
    ("| [C] | Am F | G |", "d", "| [Am] F | G |"),
    ("| [C] | Am F | G |", "v→→d", "| [G] |"),
    ("| [C] | Am F | G |", "d→→p", "| Am F | G | [C] |"),
    ("| C | [Am] F | G |", "y→→p", "| C | Am F | G | [Am] F |"),
    ("| C | [Am] F | G |", "n", "| C | Am F | [F] | G |"),
    ("| C | Am F | [G] |", "n", "| C | Am F | G | [G] |"),
    # transposing keeps the cursor
    ("| C | [Am] F | G7/B |", "TEb major⏎", "| Eb | [Cm] Ab | Bb7/D |"),
    ("| C | [Am] F | G7/B |", "TM2⏎", "| D | [Bm] G | A7/C# |"),
]


@pytest.mark.parametrize(("before", "keys", "wanted"), CHART)
def test_chart_after_keys(before: str, keys: str, wanted: str) -> None:
    assert drawn(after(work_on(before), keys)) == wanted


@pytest.mark.parametrize(("before", "keys", "wanted"), CHART)
def test_undo_brings_back_what_was(before: str, keys: str, wanted: str) -> None:
    work = work_on(before)
    done = after(work, keys)
    for _ in done.past:
        done = after(done, "u")
    assert done.song == work.song


def test_a_symbol_that_cannot_be_read_stays_open_with_its_reason() -> None:
    work = after(work_on("| [C] | F |"), "Fm7zz⏎")
    assert work.entry is not None
    assert work.entry.text == "Fm7zz"
    assert work.notice.tone is Tone.REFUSAL
    assert "zz" in work.notice.text
    assert drawn(work) == "| [C] | F |"


def test_tab_takes_the_nearest_symbol() -> None:
    assert drawn(after(work_on("| [C] | F |"), "Fm7b5zz⇥⏎")) == "| Fm7b5 | [F] |"


def test_too_many_beats_are_refused_with_a_cure() -> None:
    work = after(work_on("| [C] | F |"), "iz".replace("z", "⌫C . . . .⏎"))
    assert work.entry is not None
    assert "beats" in work.notice.text


@pytest.mark.parametrize(
    ("before", "keys", "why"),
    [
        ("| [C] |", "u", "Nothing to undo"),
        ("| [C] |", "r", "Nothing to redo"),
        ("| [C] |", "p", "y copies"),
        ("| [C] |", "d", "at least one bar"),
        ("| [C] |", "x", "only chord"),
        ("| [C] |", "%", "the first"),
        ("| [C] |", "L", "l loops this bar"),
        ("| [C] |", "1", "l loops this bar"),
        ("| [C] |", "$", "? shows the keys"),
        ("| [C] |", "j9⏎", "from 1 to 1"),
        ("| [C] |", "tfast⏎", "beats a minute"),
        ("| [C] |", "Txyz⏎", "key"),
        ("| [C] |", "→", "last chord"),
    ],
)
def test_a_refused_key_says_why(before: str, keys: str, why: str) -> None:
    work = after(work_on(before), keys)
    assert why in work.notice.text
    assert work.notice.tone is Tone.REFUSAL
    assert work.song == work_on(before).song


def test_loop_tempo_hands_click() -> None:
    work = work_on("| C | [Am] | G |")
    looped = after(work, "l")
    assert looped.loop == Loop(2, 2)
    assert after(looped, "l").loop is None
    assert after(work, "v→l").loop == Loop(2, 3)
    assert after(work, "-").tempo == 76
    assert after(work, "t40⏎").tempo == 40
    assert after(work, "t50%⏎").tempo == 40
    assert after(work, "t1/2⏎").tempo == 40
    assert after(work, "--=").tempo is None
    assert [after(work, "H" * n).hands.value for n in range(4)] == [
        "both hands",
        "right hand alone",
        "left hand alone",
        "both hands",
    ]
    assert after(work, "m").click
    assert after(work, "M").count_in


def test_playing_and_stopping_ask_for_sound() -> None:
    work, effects = ran(work_on("| C | [Am] | G |"), " ")
    assert effects == [Play(work.song.bars[1].start)]
    assert work.playing
    again, effects = ran(work, " ")
    assert effects == [Stop()]
    assert not again.playing


def test_a_loop_that_does_not_hold_the_cursor_plays_from_its_start() -> None:
    work, effects = ran(work_on("| C | Am | [G] |"), "l← ")
    assert effects == [Play(work.song.bars[2].start)]


def test_ladder_climbs_after_clean_passes_and_steps_back_after_a_slip() -> None:
    work = after(work_on("| [C] | Am |"), "lL")
    assert (work.ladder is not None, work.tempo) == (True, 40)
    assert after(work, "111").tempo == 44
    assert after(work, "110111").tempo == 44
    assert after(work, "1110").tempo == 40
    top = after(work, "111" * 11)
    assert top.ladder is None
    assert top.now_tempo == 80


def test_panes_follow_tab() -> None:
    work = work_on("| [C] |")
    assert [after(work, "⇥" * n).pane for n in range(4)] == [
        Pane.CHART,
        Pane.CHORD,
        Pane.FIGURE,
        Pane.CHART,
    ]


def test_tokens_of_one_bar_are_edited_in_place_and_tried_out_while_typed() -> None:
    work = after(work_on("| [C] | Am |"), ["e", "ctrl+u", *"3 2 1 2"])
    assert work.trial is not None
    assert work.trial.bars[0].settings.right == "3 2 1 2"
    taken = after(work, "⏎")
    assert taken.song.bars[0].settings.right == "3 2 1 2"
    assert taken.song.bars[1].settings.right == "1 2 3 2 1 2 3 2"
    assert after(work, "⎋").song == work_on("| [C] | Am |").song


def test_a_bad_token_keeps_the_line_open() -> None:
    work = after(work_on("| [C] |"), ["e", "ctrl+u", *"1 2 q", "enter"])
    assert work.entry is not None
    assert "q" in work.notice.text


def test_figures_are_tried_out_in_the_list_and_taken_with_enter() -> None:
    work = after(work_on("| [C] | Am |"), "f↓")
    assert work.trial is not None
    assert work.trial.bars[0].settings.right != work.song.bars[0].settings.right
    bar = after(work, "⏎")
    assert bar.song == work.trial
    assert after(work, "⎋").song == work.song
    section = after(work, "⇥⏎")
    assert {each.settings.right for each in section.song.bars} == {bar.song.bars[0].settings.right}


def test_other_chords_are_tried_out_and_taken_here_or_at_all_like_places() -> None:
    work = after(work_on("| [C] | F G7 | C | F G7 |"), "o↓")
    assert work.trial is not None
    assert work.trial.bars[0].slots[0].chord != work.song.bars[0].slots[0].chord
    assert after(work, "⇥").trial is None  # A against B
    assert after(work, "⇥⇥").trial == work.trial
    one = after(work, "⏎").song
    assert one == work.trial
    everywhere = after(work, "a").song
    assert everywhere.bars[2].slots[0].typed == one.bars[0].slots[0].typed
    assert one.bars[2].slots[0].typed == "C"


def test_steering_moves_the_amounts_of_the_section() -> None:
    work = after(work_on("| [C] | Am |"), "b")
    assert work.song.sections[0].settings.busy is not None
    busier = work.song.sections[0].settings.busy
    assert after(work, "cc").song.sections[0].settings.busy == pytest.approx(busier - 0.2)
    assert after(work, ">").song.sections[0].settings.outside is not None
    assert after(work, "a").song.sections[0].take == 2


def test_saving_and_leaving_ask_the_world() -> None:
    work = work_on("| [C] | Am |")
    _, effects = ran(work, ["S", *"new.toml", "enter"])
    assert effects == [Save("new.toml")]
    _, effects = ran(work, "q")
    assert effects == [Quit()]
    edited = after(work, "D⏎")
    warned, effects = ran(edited, "q")
    assert effects == []
    assert "s saves" in warned.notice.text
    assert ran(warned, "q")[1] == [Quit()]
    assert ran(after(warned, "→"), "q")[1] == []  # the warning holds for the very next key only


def test_palette_finds_commands_by_words_and_greys_what_is_refused() -> None:
    work = after(work_on("| [C] |"), ":transpose⏎")
    assert work.entry is not None
    assert work.entry.kind.value == "transpose"
    refused = after(work_on("| [C] |"), ":undo⏎")
    assert "Nothing to undo" in refused.notice.text


def test_settings_are_typed_and_checked() -> None:
    work = after(work_on("| [C] |"), [*":arc of this", "enter", *"p < mf > p", "enter"])
    assert work.song.sections[0].settings.arc == "p < mf > p"
    bad = after(work_on("| [C] |"), [*":arc of this", "enter", *"p < loud", "enter"])
    assert bad.entry is not None
    assert "loud" in bad.notice.text
    meter = after(work_on("| [C] |"), [*":meter of the", "enter", "ctrl+u", *"6/8", "enter"])
    assert meter.song.meter.name == "6/8"


def test_a_bars_figure_is_kept_by_a_name_typed_below_the_panes() -> None:
    work, asked = ran(work_on("| [C] | Am |"), [":", *"keep this bar's figure", "enter", *"water"])
    assert work.entry is not None
    assert not asked
    work, asked = ran(work, "⏎")
    assert asked == [KeepFigure("water", Hand.RIGHT, 1)]
    assert work.entry is None


def test_the_writers_own_figures_stand_in_the_list_and_are_written_as_tokens(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    figure = replace(parse_figure("3 1 2 1/8", Hand.RIGHT), name="water")
    monkeypatch.setattr(lists, "own_figures", lambda: (figure,))
    taken = after(work_on("| [C] | Am |"), ["f", *"water", "down", "enter"])
    assert taken.song.bars[0].settings.right == "3 1 2 1 3 1 2 1"


def test_own_figures_that_cannot_be_read_say_why_beside_the_chart(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken() -> tuple[Figure, ...]:
        raise FigureError("figures.toml cannot be read")

    monkeypatch.setattr(lists, "own_figures", broken)
    opened = after(work_on("| [C] | Am |"), ["f", "down"])
    shown = draw_list(View(opened, stages(opened.song, None)), 29, 10, Keymap()).text()
    assert "figures.toml" in shown


def test_an_introduction_is_put_before_the_song() -> None:
    work = after(work_on("| C | Am | F | [G] |"), [":", *"begin the song", "enter"])
    assert drawn(work) == "| [C] | % | F | G | | C | Am | F | G |"
    assert after(work, "u").song == work_on("| C | Am | F | [G] |").song


def test_the_peak_of_a_section_moves_to_the_bar_and_back_to_where_it_falls() -> None:
    moved = after(work_on("| C | [F] | G | C |"), [*":peak of", "enter"])
    assert moved.song.sections[0].peak == 2
    assert "peaks at bar 2" in moved.notice.text
    assert after(moved, [*":peak of", "enter"]).song.sections[0].peak is None
    assert after(moved, "u").song.sections[0].peak is None


def test_the_figure_that_stands_is_in_its_list_once_unless_it_would_reach_further() -> None:
    work = after(work_on("| [C] | Am |"), ["f", "down", "enter"])
    name = work.bar.settings.right
    opened = after(work, "f")
    labels = [item.label for item in lists.items(opened, Keymap())]
    assert labels.count(str(name)) == 1
    assert labels[0] == name
    further = [item.label for item in lists.items(after(opened, "⇥"), Keymap())]
    assert further.count(str(name)) == 2  # bar 2 has another: this would put it there too


@pytest.mark.parametrize(
    ("keys", "key"), [("l", "Space plays it"), ("wl", "\\ plays it"), (" l", "")]
)
def test_a_new_loop_says_what_plays_it(keys: str, key: str) -> None:
    work = after(work_on("| C | [Am] |"), keys)
    assert work.notice.text == "Loop: bar 2" + (f"; {key}" if key else "")
    if key:
        assert after(work, " " if "Space" in key else "\\").playing
