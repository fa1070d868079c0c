"""Edits of bars and sections: what is named changes, what sounds elsewhere does not."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError, KeyNameError, SongError
from engine.key import Key
from engine.song import (
    SONG,
    BarSettings,
    Scope,
    Section,
    Settings,
    Song,
    add_intro,
    add_section,
    bar_text,
    build,
    clear_bar,
    delete_bars,
    delete_section,
    insert_bars,
    move_section,
    read_song,
    set_bar,
    set_bar_option,
    set_setting,
    set_slot,
    sounding_text,
    split_section,
    write_song,
)
from engine.song.melody import melody_notes
from tests.song.song_strategies import bar, charts, complaint, symbol

CHART = "\n| Ab  | Eb/G | Fm . . Eb | Db |   # walks\n| %   | Bbm7 Eb7 | % | %  |\n"


def song(*charts_: str) -> Song:
    return build("", Settings(), [Section(f"S{k}", chart) for k, chart in enumerate(charts_)])


def sound(song: Song, *, but: range = range(0)) -> list[list[tuple[object, ...]]]:
    """What sounds in each bar, as (kind, chord, onset, duration), but for some bars."""
    return [
        [(slot.kind, slot.chord, slot.onset, slot.duration) for slot in bar.slots]
        for bar in song.bars
        if bar.number not in but
    ]


def test_a_bars_edit_leaves_bar_lines_and_remarks_in_their_columns() -> None:
    edited = set_bar(song(CHART), 2, " Ebm ")
    assert edited.sections[0].chart == CHART.replace("| Eb/G |", "| Ebm  |")
    longer = set_bar(song(CHART), 1, "Abm7")
    assert longer.sections[0].chart.split("\n")[1].startswith("| Abm7 | Eb/G |")


def test_a_repeat_after_an_edited_bar_goes_on_sounding_as_it_did() -> None:
    edited = set_bar(song(CHART), 4, "Dbm")
    assert edited.sections[0].chart == CHART.replace("| Db |", "| Dbm |").replace("%   |", "Db  |")
    assert sound(edited, but=range(4, 5)) == sound(song(CHART), but=range(4, 5))
    # A % that is itself edited, and those that repeated it:
    edited = set_bar(song(CHART), 7, "Ab")
    assert "| Bbm7 Eb7 | Ab | Bbm7 Eb7 |" in edited.sections[0].chart
    # Set to %, a bar repeats the one before it:
    assert sound(set_bar(song(CHART), 2, "%"))[1] == sound(song(CHART))[0]


def test_one_symbol_of_a_bar() -> None:
    assert bar_text(set_slot(song(CHART), 3, 1, "E7"), 3) == "Fm . . E7"
    assert bar_text(set_slot(song(CHART), 8, 0, "Bb"), 8) == "Bb Eb7"
    assert bar_text(set_slot(song("| C (. D) . . |"), 1, 1, "F#m"), 1) == "C (. F#m) . ."
    for number, slot, text in ((3, 2, "E"), (3, -1, "E"), (3, 0, "E F"), (3, 0, "x"), (9, 0, "E")):
        with pytest.raises(InputError):
            set_slot(song(CHART), number, slot, text)


def test_text_of_bars() -> None:
    made = song("| C\n . # a remark\n F G | % |")
    assert bar_text(made, 1) == "C . F G"
    assert (bar_text(made, 2), sounding_text(made, 2)) == ("%", "C . F G")


def test_a_bar_over_lines_keeps_its_remarks() -> None:
    made = song("| C # one\n G # two\n | F |\n")
    edited = set_bar(made, 1, "D")
    assert edited.sections[0].chart == "| D # one\n  # two\n | F |\n"
    assert delete_bars(made, 1, 1).sections[0].chart == "| # one\n  # two\n F |\n"


def test_bars_put_in_join_the_section_and_move_settings_on() -> None:
    made = set_setting(song("| C | D |", "| E |"), Scope(bar=2), "busy", 0.9)
    made = set_setting(made, Scope(section=0), "peak", 2)
    grown = insert_bars(made, 2, ["F . . G", "%"])
    assert grown.sections[0].chart == "| C | F . . G | % | D |"
    assert grown.sections[0].bar_settings == ((4, BarSettings(Settings(busy=0.9))),)
    assert grown.sections[0].peak == 4
    assert insert_bars(made, 3, ["A"]).sections[1].chart == "| A | E |"
    assert insert_bars(made, 4, ["A"]).sections[1].chart == "| E | A |"
    assert insert_bars(made, 2, []) == made
    assert insert_bars(song("C | % # x"), 2, ["F"]).sections[0].chart == "C | F | C # x"


def test_bars_taken_out() -> None:
    made = set_setting(song(CHART), Scope(bar=6), "busy", 0.9)
    fewer = delete_bars(made, 4, 4)
    assert fewer.sections[0].chart.startswith("\n| Ab  | Eb/G | Fm . . Eb |   # walks\n| Db  |")
    assert fewer.bars[4].own.settings.busy == 0.9
    assert "Bbm7" not in delete_bars(made, 5, 8).sections[0].chart
    assert delete_bars(made, 5, 8).sections[0].bar_settings == ()
    assert len(delete_bars(song("| C |", "| D | E |", "| % |"), 1, 2).sections) == 2
    assert bar_text(delete_bars(song("| C |", "| D | E |", "| % |"), 2, 3), 2) == "E"
    with pytest.raises(SongError, match="all the song's bars"):
        delete_bars(made, 1, 8)


def test_sections_come_move_and_go_without_changing_what_sounds() -> None:
    made = song("| C |", "| % | D |", "| % |")
    assert sound(move_section(made, 2, 0)) == [sound(made)[k] for k in (3, 0, 1, 2)]
    assert sound(move_section(made, 0, 2)) == [sound(made)[k] for k in (1, 2, 3, 0)]
    assert sound(delete_section(made, 0)) == sound(made)[1:]
    assert sound(add_section(made, 1, Section("New", "| F |")))[2:] == sound(made)[1:]
    parted = split_section(song(CHART), 5, "Second")
    assert [section.name for section in parted.sections] == ["S0", "Second"]
    assert sound(parted) == sound(song(CHART))
    with pytest.raises(SongError, match="only section"):
        delete_section(song("C"), 0)
    with pytest.raises(SongError, match="no section 4"):
        move_section(made, 0, 3)
    with pytest.raises(SongError, match="already begins"):
        split_section(made, 2, "")


def test_settings_are_checked_as_in_a_file() -> None:
    made = song("| C . . G |")
    assert set_setting(made, SONG, "key", "F# minor").key == Key.parse("F# minor")
    assert set_setting(made, SONG, "tempo", "90").tempo == 90
    assert set_setting(made, SONG, "tempo", None).tempo == 76
    assert set_setting(made, Scope(bar=1), "right", "1 2").bars[0].settings.right == "1 2"
    assert clear_bar(set_setting(made, Scope(bar=1), "right", "1 2"), 1) == made
    assert set_bar_option(made, 1, "keep", ["1 2", "R"]).bars[0].own.keep == ("1 2", "R")
    waived = set_bar_option(made, 1, "waive", {"low": "so"})
    assert waived.bars[0].own.waive == (("low", "so"),)
    assert set_bar_option(waived, 1, "waive", None) == made
    with pytest.raises(KeyNameError):
        set_setting(made, SONG, "key", "H")
    cases: tuple[tuple[Scope, str, object, str], ...] = (
        (SONG, "meter", "3/4", "bar 1 has 4 beats"),
        (SONG, "busy", 2, "busy is 2"),
        (SONG, "chart", "| D |", "no setting chart"),
        (Scope(section=0), "chart", "| D |", "no setting chart"),
        (Scope(section=0), "peak", 2, "no bar 2"),
        (Scope(section=4), "busy", 0.1, "no section 5"),
        (Scope(bar=4), "busy", 0.1, "no bar 4"),
        (Scope(bar=1), "title", "x", "no setting title"),
    )
    for scope, name, value, found in cases:
        error = complaint(partial(set_setting, made, scope, name, value))
        assert error is not None
        assert found in error.message


@settings(deadline=None, max_examples=150)
@given(charts(), bar, st.data())
def test_an_edited_bar_is_the_only_one_that_sounds_otherwise(
    chart: tuple[str, list[str]], words: str, data: st.DataObject
) -> None:
    """Splices of a chart leave every other bar's slots and every remark as they were."""
    made = song(chart[0])
    number = data.draw(st.integers(1, len(made.bars)))
    edited = set_bar(made, number, words)
    assert bar_text(edited, number) == words
    assert sound(edited, but=range(number, number + 1)) == sound(
        made, but=range(number, number + 1)
    )
    assert edited.sections[0].chart.count("# a C# here") == chart[0].count("# a C# here")


@settings(deadline=None, max_examples=100)
@given(charts(), symbol, st.data())
def test_an_edited_symbol_is_the_only_one_that_changes(
    chart: tuple[str, list[str]], new: str, data: st.DataObject
) -> None:
    made = song(chart[0])
    number = data.draw(st.integers(1, len(made.bars)))
    slot = data.draw(st.integers(0, len(made.bars[number - 1].slots) - 1))
    edited = set_slot(made, number, slot, new)
    was, now = sound(made), sound(edited)
    assert [place[2:] for place in now[number - 1]] == [place[2:] for place in was[number - 1]]
    assert edited.bars[number - 1].slots[slot].typed in (new, "%")
    del was[number - 1][slot], now[number - 1][slot]
    assert now == was


@settings(deadline=None, max_examples=150)
@given(st.lists(charts(most=5), min_size=1, max_size=3), st.data())
def test_bars_put_in_and_taken_out_again_leave_the_rest(
    several: list[tuple[str, list[str]]], data: st.DataObject
) -> None:
    made = song(*(text for text, _ in several))
    count = len(made.bars)
    at = data.draw(st.integers(1, count + 1))
    words = data.draw(st.lists(bar, min_size=1, max_size=3))
    grown = insert_bars(made, at, words)
    new = range(at, at + len(words))
    assert sound(grown, but=new) == sound(made)
    assert [bar_text(grown, number) for number in new] == words
    shrunk = delete_bars(grown, at, at + len(words) - 1)
    assert sound(shrunk) == sound(made)
    first = data.draw(st.integers(1, count))
    last = data.draw(st.integers(first, count))
    if last - first + 1 < count:
        gone = range(first, last + 1)
        assert sound(delete_bars(made, first, last)) == sound(made, but=gone)
        text = write_song(made)
        assert read_song(write_song(delete_bars(made, first, last), text)) == delete_bars(
            made, first, last
        )


def sung(song: Song) -> list[tuple[int, str, str]]:
    """Bar, place in it and pitch of each melody note."""
    found = []
    for note in melody_notes(song):
        at = song.bar_at(note.onset)
        found.append((at.number, str(note.onset - at.start), note.pitch.name))
    return found


def test_a_melody_goes_with_the_bars_it_is_sung_over() -> None:
    chart, melody = "| C | F | G | Am |", "C4 D4 | [L:1/4]F2 G2 | B4 | A4 |]"
    made = build("", Settings(), [Section("A", chart, melody=melody)])
    before = sung(made)
    grown = insert_bars(made, 3, ["E7", "E7"])
    assert grown.sections[0].melody == "C4 D4 | [L:1/4]F2 G2 | Z2| B4 | A4 |]"
    assert sung(grown) == [(bar + 2 * (bar > 2), at, pitch) for bar, at, pitch in before]
    assert sung(delete_bars(grown, 3, 4)) == before
    assert sung(delete_bars(made, 2, 2)) == [
        (bar - (bar > 2), at, pitch) for bar, at, pitch in before if bar != 2
    ]
    assert sung(insert_bars(made, 1, ["E"])) == [(bar + 1, at, p) for bar, at, p in before]
    assert sung(insert_bars(made, 5, ["E"])) == before
    parted = split_section(made, 3, "B")
    assert parted.sections[0].melody == "C4 D4 | [L:1/4]F2 G2 |"
    assert parted.sections[1].melody == "[L:1/4]B4 | A4 |]"
    assert sung(parted) == before
    # Sung over the bar line without a tie, a melody cannot be cut and stays.
    held = build("", Settings(), [Section("A", chart, melody="C12 D4 | E8 |")])
    assert insert_bars(held, 2, ["E"]).sections[0].melody == "C12 D4 | E8 |"
    assert sung(insert_bars(held, 3, ["E"]))[-1] == (4, "0", "E4")


def test_an_introduction_holds_the_first_harmony_and_leads_back_to_it() -> None:
    song = build("T", Settings(), [Section("Verse", "| C | Am | F | Dm G7 |", Settings(tempo=60))])
    begun = add_intro(song)
    assert [bar_text(begun, number) for number in range(1, 5)] == ["C", "%", "F", "Dm G7"]
    assert [section.name for section in begun.sections] == ["Intro", "Verse"]
    assert begun.bars[0].tempo == 60
    assert begun.bars[4:] == tuple(
        replace(bar, number=bar.number + 4, section=1, start=bar.start + 4) for bar in song.bars
    )
    closed = add_intro(build("T", Settings(), [Section("A", "| C | F | G7 | C |")]))
    assert len(closed.bars) == 6
    with pytest.raises(SongError, match="has an introduction already"):
        add_intro(begun)
    assert read_song(write_song(begun)) == begun
