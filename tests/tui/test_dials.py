"""What can be set about sound and practice: by key, in its list, by typing; and remembered."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import FileError
from engine.workshop import (
    AskPrograms,
    Extent,
    ListKind,
    Loop,
    Panic,
    Play,
    Preferences,
    Tap,
    Tone,
    TryFont,
    dials,
    loop_text,
    typing,
)
from tests.tui.desk_helpers import after, ran, work_on
from tui.settings import Options, keep, load
from tui.sound import options_of

CHART = "| [C] | Am F | Dm7 | G7 |"


def in_list(title: str, *keys: str) -> list[str]:
    """The keys that lead to a dial in its list by the beginning of its title, then others."""
    titles = [each.title.lower() for each in dials()]
    index = next(n for n, each in enumerate(titles) if each.startswith(title))
    return ["P", *["down"] * index, *keys]


@pytest.mark.parametrize(
    ("title", "keys", "name", "value"),
    [
        ("loudness of the click", ["right"], "click_level", 80),
        ("loudness of the click", ["enter", *"35", "enter"], "click_level", 35),
        ("the hand that rests", ["right", "right", "right"], "other_hand", 30),
        ("reverb", ["left"], "reverb", 20),
        ("reverb", ["enter", *"0%", "enter"], "reverb", 0),
        ("instrument", ["enter", *"4", "enter"], "program", 4),
        ("ladder goes up", ["right", "right"], "ladder_step", 6),
        ("clean passes", ["left"], "passes", 2),
        ("a slip leads", ["enter"], "step_back", False),
        ("a slip leads", ["right"], "step_back", False),
    ],
)
def test_a_dial_is_turned_or_typed(title: str, keys: list[str], name: str, value: object) -> None:
    work = after(work_on(CHART), in_list(title, *keys))
    assert getattr(work.preferences, name) == value


@pytest.mark.parametrize(
    ("title", "typed", "why"),
    [
        ("loudness of the click", "loud", "a number from 0 to 100"),
        ("instrument", "128", "from 0 to 127"),
        ("instrument", "1.5", "whole number"),
        ("heard higher", "40", "from -12 to 12"),
        ("ladder begins", "99", "does not rise"),
    ],
)
def test_a_bad_value_stays_open_and_says_what_would_be_right(
    title: str, typed: str, why: str
) -> None:
    work = after(work_on(CHART), in_list(title, "enter", *typed, "enter"))
    assert work.entry is not None
    assert work.notice.tone is Tone.REFUSAL
    assert why in work.notice.text
    assert work.preferences == Preferences()


def test_every_dial_shows_how_it_stands_and_answers_its_keys() -> None:
    base = after(work_on(CHART), "l")
    for index, each in enumerate(dials()):
        assert each.shown(base) or each.name == "panic"
        there = after(base, ["P", *["down"] * index])
        for key in ("left", "right", "enter"):
            changed, effects = ran(there, [key])
            assert changed != there or effects or changed.notice.text


def test_the_player_is_asked_for_what_is_set() -> None:
    work = after(work_on(CHART), ["H", *in_list("the hand", "right", "right", "escape"), "K"])
    asked = options_of(work)
    assert (asked.left, asked.right) == (0.2, 1.0)
    assert asked.transpose == 1
    assert work.song == work_on(CHART).song  # heard higher, written as it was
    assert options_of(after(work, "KJJ")).transpose == 0
    assert "2 semitones higher" in after(work, "K").notice.text


def test_tapping_and_silencing_ask_the_world() -> None:
    assert ran(work_on(CHART), ",")[1] == [Tap()]
    assert ran(work_on(CHART), "!")[1] == [Panic()]
    _, effects = ran(work_on(CHART), in_list("soundfont", "enter", *"a.sf2", "enter"))
    assert effects == [AskPrograms(), TryFont("a.sf2")]


def test_a_loop_may_begin_and_end_at_any_chord_or_beat() -> None:
    work = after(work_on("| C | Am [F] | Dm7 | G7 |"), "(")
    assert work.loop is not None
    assert loop_text(work.loop, work.song) == "2.3–2.4"
    longer = after(work, "→)")
    assert longer.loop is not None
    assert loop_text(longer.loop, work.song) == "2.3–3.4"
    assert after(work, "←)").loop == Loop(2, 2, end=work.song.bars[1].slots[1].onset)
    typed = after(work, ";1.2-3.1⏎")
    assert typed.loop is not None
    assert loop_text(typed.loop, work.song) == "1.2–3.1"
    _, effects = ran(typed, "\\")
    assert effects == [Play(work.song.bars[0].meter.beat)]
    refused = after(work, ";9⏎")
    assert "bars 1 to 4" in refused.notice.text


def test_a_link_leads_on_to_the_next_bar() -> None:
    work = after(work_on(CHART), "l&")
    assert work.loop == Loop(1, 1, link=True)
    assert "first note of bar 2" in work.notice.text
    assert after(work, "&").loop == Loop(1, 1)
    assert "ends with the song" in after(work_on("| [C] |"), "l&").notice.text


def test_a_ladder_is_built_as_it_is_set() -> None:
    work = after(work_on(CHART), "l")
    work = after(work, in_list("ladder begins", "enter", *"50", "enter"))
    work = after(work, in_list("ladder leads", "enter", *"60", "enter"))
    work = after(work, in_list("ladder goes up", "enter", *"5", "enter"))
    work = after(work, in_list("clean passes", "enter", *"1", "enter"))
    work = after(work, "L")
    assert work.tempo == 50
    assert after(work, "1").tempo == 55
    assert after(work, "10").tempo == 50
    steady = after(work, [*in_list("a slip leads", "enter"), "escape", "1", "0"])
    assert steady.tempo == 55  # no step back
    done = after(work, "111")
    assert done.ladder is None
    assert "the goal is reached" in done.notice.text


def test_a_change_of_tempo_by_hand_moves_the_rung() -> None:
    """What is marked clean is the tempo that was played."""
    work = after(work_on(CHART), "lL+")
    assert work.ladder is not None
    assert work.ladder.now == work.tempo == 44
    marks = ran(work, "111")[1]
    assert [getattr(mark, "tempo", None) for mark in marks] == [0, 0, 44]


def test_a_pass_marked_without_a_ladder_begins_one_at_the_tempo_it_was_played() -> None:
    work = after(work_on(CHART), "l--1")
    assert work.ladder is not None
    assert (work.ladder.now, work.ladder.clean, work.tempo) == (72, 1, 72)
    fast = after(work_on(CHART), "l+1")
    assert fast.ladder is not None
    assert fast.ladder.goal == 84


def test_the_plan_is_a_list_whose_lines_start_playing() -> None:
    work = after(work_on(CHART), "W")
    assert work.chooser is not None
    assert work.chooser.kind is ListKind.PLAN
    assert work.sitting is not None
    assert work.sitting.minutes == 30
    assert after(work, ["left"]).sitting != work.sitting
    whole = after(work, "⇥").sitting
    assert whole is not None
    assert whole.extent is Extent.SONG
    started, effects = ran(work, "⏎")
    assert started.playing
    assert len(effects) == 1
    again = after(started, " W")
    assert again.chooser is not None
    assert again.chooser.index == 0  # its minutes are not over


def test_preferences_are_kept_in_the_settings_file_and_all_else_stays(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    text = '# mine\ntheme = "paper"\n\n[sound]\ngain = 0.5 # quiet\n\n[keys]\nplay = "x"\n'
    file.write_text(text, encoding="utf-8")
    assert load(file).preferences == Preferences(gain=0.5)
    wish = Preferences(gain=0.8, program=4, passes=2, soundfont='a "b" # c.sf2', step_back=False)
    keep(wish, file)
    found = load(file)
    assert found.preferences == wish
    assert (found.theme, found.keys) == ("paper", (("play", ("x",)),))
    kept = file.read_text(encoding="utf-8")
    assert kept.startswith('# mine\ntheme = "paper"\n')
    assert "gain = 0.8 # quiet\n" in kept
    keep(Preferences(), file)
    assert load(file).preferences == Preferences()
    keep(wish, tmp_path / "new" / "settings.toml")
    assert load(tmp_path / "new" / "settings.toml") == replace(Options(), preferences=wish)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("[sound]\ngain = 9", "0.1 to 5"),
        ('[sound]\nprogram = "piano"', "0 to 127"),
        ("[sound]\nvolume = 1", "may have soundfont"),
        ("[practice]\nstep_back = 1", "true or false"),
        ("[practice]\npasses = 1.5", "whole"),
    ],
)
def test_a_bad_preference_in_the_file_says_what_would_be_right(
    tmp_path: Path, line: str, why: str
) -> None:
    file = tmp_path / "settings.toml"
    file.write_text(line, encoding="utf-8")
    with pytest.raises(FileError) as caught:
        load(file)
    assert why in str(caught.value)
    assert caught.value.place is not None


def test_an_instrument_is_chosen_by_name_or_number_among_those_there_are() -> None:
    names = ((0, "Yamaha Grand"), (4, "Rhodes EP"), (19, "Church Organ"))
    work = replace(work_on(CHART), programs=names)
    assert "0 Yamaha Grand" in [each.shown(work) for each in dials()]
    assert after(work, in_list("instrument", "right")).preferences.program == 4
    assert after(work, in_list("instrument", "right", "right", "left")).preferences.program == 4
    typed = after(work, in_list("instrument", "enter", *"church", "enter"))
    assert typed.preferences.program == 19
    refused = after(work, in_list("instrument", "enter", *"5", "enter"))
    assert "has no program 5" in refused.notice.text


PRACTICE = [
    *(" ", "\\", "l", "(", ")", "&", "+", "-", "=", "H", "m", "M", "L", "1", "0", "w", "K", "J"),
    *("W⏎", "P", ",", "!", "v", ";2⏎", "t60⏎", "←", "→", "↑", "↓", "⎋"),
]


@settings(deadline=None, max_examples=60)
@given(st.lists(st.sampled_from(PRACTICE), max_size=30))
def test_whatever_is_pressed_while_practising_what_is_heard_is_what_is_shown(
    pressed: list[str],
) -> None:
    """Practice never changes the song; loop, tempo and ladder agree with it and each other."""
    start = work_on("| C | Am [F] | Dm7 | G7 |")
    work = after(start, "".join(pressed))
    assert work.song == start.song
    asked = options_of(work)
    assert asked.factor == work.now_tempo / work.written_tempo
    if asked.loop is not None:
        assert 0 <= asked.loop[0] < asked.loop[1] <= work.song.end
    if work.ladder is not None:
        assert work.loop is not None
        assert work.ladder.now == work.now_tempo
        assert work.ladder.start <= work.ladder.now <= work.ladder.goal
    if work.steps is not None:
        assert not work.playing
        assert work.song.bar_at(work.steps.group.onset).number == work.cursor.bar or work.loop


def test_the_loudness_is_shown_and_typed_per_cent_like_the_others() -> None:
    work = work_on(CHART)
    gain = next(each for each in dials() if each.name == "gain")
    assert (gain.title, gain.shown(work)) == ("Loudness", "100 %")
    assert gain.turn is not None
    assert gain.shown(gain.turn(work, -3)) == "70 %"
    typed = after(typing.edit_dial(work, gain), "70⏎")
    assert typed.preferences.gain == 0.7
    assert typed.notice.text == "Loudness: 70 %"
    refused = after(typing.edit_dial(work, gain), "9⏎")
    assert "from 10 to 500" in refused.notice.text
