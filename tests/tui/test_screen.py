"""The running screen, driven by keys: what it shows, asks of the player, and how it fits."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from engine.play import Player, State
from engine.song import Hand
from engine.workshop import Cursor, Journal, Loop, Pane, Stages, open_file, refuse, say
from tests.tui.desk_helpers import SONG, after, run, settled, typed, work_on, workshop
from tests.tui.test_stale_screen import opened
from tui.app import Workshop
from tui.commands import Keymap
from tui.lists import items
from tui.settings import Options
from tui.view import View
from tui.widgets.canvas import Canvas
from tui.widgets.frame import draw_header, draw_keys_line, draw_transport
from tui.widgets.lists import draw_list

CHART = "| [C] | Am F | Dm7 | G7 |"


def test_the_four_parts_are_there_from_the_start() -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            text = app.desk.text()
        for piece in ("A trial", "► chart", "Dm7", "ii7", "C major", "right", "R", "■ stopped"):
            assert piece in text

    run(test)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20), (40, 12), (20, 6), (200, 60)])
def test_any_size_draws_and_answers_keys(size: tuple[int, int]) -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            await typed(pilot, "→Em7⏎f↓⎋o⎋?⎋:⎋⇥⇥⇥")
            assert app.work.song.bars[1].slots[0].typed == "Em7"

    run(test)


def test_a_resize_keeps_the_work() -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            await typed(pilot, "→F")
            await pilot.resize_terminal(60, 20)
            await pilot.pause()
            assert app.work.entry is not None
            assert "chord" not in app.desk.text().split("\n")[1]
            await pilot.resize_terminal(80, 24)
            await typed(pilot, "m⏎")
            assert app.work.song.bars[1].slots[0].typed == "Fm"

    run(test)


def test_small_terminals_show_one_pane_and_tab_turns_to_the_next() -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=(60, 20)) as pilot:
            await settled(pilot)
            shown = []
            for pane in Pane:
                assert app.work.pane is pane
                shown.append(app.desk.text())
                await typed(pilot, "⇥")
            assert "Dm7" in shown[0]
            assert "scale" in shown[1]
            assert "pedal" in shown[2]
            assert "scale" not in shown[0]
            assert "pedal" not in shown[0]

    run(test)


def test_the_typed_chord_is_read_while_it_grows() -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "D7")
            assert "V7/V" in app.desk.text()
            await typed(pilot, "zz")
            assert "Tab takes it" in app.desk.text()
            await typed(pilot, "⇥⏎")
            assert app.work.song.bars[0].slots[0].typed == "D7"

    run(test)


def test_the_player_is_told_of_loop_tempo_hands_and_click() -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "→l-mH")
            options = app.player.options
            assert options.loop == (Fraction(1), Fraction(2))
            assert options.factor == pytest.approx(76 / 80)
            assert options.click
            assert (options.left, options.right) == (0.0, 1.0)

    run(test)


def test_playing_moves_the_playhead_and_stops_at_the_end() -> None:
    clock = FakeClock()

    async def test() -> None:
        app = workshop(work_on("| [C] | F |"), Player(clock=clock))
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, " ")
            places = []
            for _ in range(400):
                clock.now += 0.15
                await asyncio.sleep(0.002)
                await pilot.pause()
                if app.player.state is State.PLAYING:
                    places.append(app.player.position())
                elif places:
                    break
                if "►" in app.desk.text().split("\n")[-2]:
                    assert app.view().sounding is not None
            assert places == sorted(places)
            assert places[-1] > 1
            for _ in range(100):
                await asyncio.sleep(0.02)
                if not app.work.playing:
                    break
            assert not app.work.playing
            assert app.view().sounding is None

    run(test)


class FakeClock:
    """Time that passes when it is told to."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def test_saving_writes_the_file_and_leaving_drops_the_journal(tmp_path: Path) -> None:
    path = tmp_path / "song.toml"
    path.write_text(SONG.format(chart="| C | F |", key="C major", meter="4/4"), encoding="utf-8")
    journal = Journal(tmp_path / "state", 1)

    async def test() -> None:
        app = Workshop(open_file(str(path)), Player(), Options(), journal, glow_seconds=0)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "Am⏎")
            assert len(list((tmp_path / "state").iterdir())) == 1
            await typed(pilot, "s")
            assert '"| Am | F |"' in path.read_text(encoding="utf-8")
            assert list((tmp_path / "state").iterdir()) == []
            await typed(pilot, "Bb⏎")
            await pilot.press("q", "q")
        assert app.return_value == 0
        assert list((tmp_path / "state").iterdir()) == []
        assert "Bb" not in path.read_text(encoding="utf-8")

    run(test)


def test_a_song_whose_part_cannot_be_made_keeps_the_last_good_one_and_says_why() -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            good = app.stages.part
            await pilot.press(*":right", "enter")
            await pilot.press("escape")
            assert app.stages.part is good

    run(test)


def test_hands_apart_reach_the_player_in_both_ways() -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "HH")
            assert app.player.options.level(Hand.RIGHT) == 0
            await typed(pilot, "H")
            assert app.player.options.level(Hand.LEFT) == 1
            assert app.player.options.level(Hand.RIGHT) == 1

    run(test)


def test_pasted_text_is_typed() -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            from textual import events

            app.post_message(events.Paste("Em7 \n A7"))
            await pilot.pause()
            await typed(pilot, "⏎")
            assert [slot.typed for slot in app.work.song.bars[0].slots] == ["Em7", "A7"]

    run(test)


@pytest.mark.parametrize("pressed", ["", "l&1", "lw", "W", "P", "?", ":", "o", "f"])
def test_only_ascii_signs_when_asked_for(pressed: str) -> None:
    async def test() -> None:
        app = workshop(work_on("| [Ab] | F#m7b5 |", key="Ab major"), ascii_only=True)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, pressed)
            lines = [
                "".join(segment.text for segment in canvas.render_line(y))
                for canvas in app.desk.canvases
                if canvas.display
                for y in range(canvas.size.height)
            ]
        assert all(line.isascii() for line in lines)
        assert any("Ab" in line for line in lines) or pressed in ("W", "P", "?", ":")

    run(test)


def test_step_mode_goes_group_by_group_and_asks_for_its_sound() -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            await typed(pilot, "w")
            part = app.stages.part
            assert part is not None
            times = sorted({note.onset for note in part.notes})
            assert app.work.step == times[0]
            await typed(pilot, " →")
            assert app.work.step == times[2]
            await typed(pilot, "←")
            assert app.work.step == times[1]
            assert "step mode" in app.desk.text()
            await typed(pilot, "⎋")
            assert app.work.step is None

    run(test)


def test_without_sound_the_transports_state_stays_on_a_narrow_screen() -> None:
    async def test() -> None:
        app = workshop(work_on(CHART))
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            player = app.player
            player.notice = (
                "No sound: no sound device opens; 'alberti doctor' says why, and how to mend it"
            )
            await pilot.pause(0.2)
            text = app.desk.text()
        (line,) = (row for row in text.split("\n") if "stopped" in row)
        assert line.startswith(" ■ stopped  ♩ ")
        assert "No sound: no sound device opens" in line
        assert line.rstrip().endswith("…")

    run(test)


@pytest.mark.parametrize("colours", ["theme", "terminal", "none"])
def test_the_playhead_stands_out_in_grid_lane_and_keyboard_strip(colours: str) -> None:
    """The column of the lane where it sounds is painted in the playhead's own colours."""

    async def test() -> None:
        app = workshop(work_on(CHART), colours=colours)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "w  ")
            lane, head = app.desk.query_one("#figure", Canvas), app._styles["head"]
            columns = {
                row.crop(0, column).cell_length
                for row in (lane.render_line(y) for y in range(2, 6))
                for column in range(7, 79)
                if next(iter(row.crop(column, column + 1))).style == head
            }
            assert len(columns) == 1
            at = app.work.step
            assert at is not None
            assert app.stages.part is not None
            struck = {n.pitch.midi for n in app.stages.part.notes if n.onset == at}
            chord = app.desk.query_one("#chord", Canvas).sheet.text()
            assert chord.count("●") >= len(struck)
            await typed(pilot, "→" * 12)
            chart = app.desk.query_one("#chart", Canvas)
            assert app.work.step is not None
            assert app.work.cursor.bar == app.work.song.bar_at(app.work.step).number
            assert "cursor" in {style for row in chart.sheet.styles for style in row}

    run(test)


@pytest.mark.parametrize(
    ("meter", "sign"),
    [("4/4", "♩ 80"), ("6/8", "♩. 80"), ("2/2", "half = 80"), ("7/8", "eighth = 80")],
)
def test_the_transport_names_the_beat_that_the_tempo_counts(meter: str, sign: str) -> None:
    view = View(work_on(CHART, meter=meter), Stages(work_on(CHART, meter=meter).song))
    assert f" {sign} " in f"{draw_transport(view, 80).text()} "
    assert f"{sign.split()[0]} = 80" in draw_header(view, 80).text()


@pytest.mark.parametrize("width", range(40, 121, 4))
def test_a_notice_on_the_transport_line_halves_nothing_that_stands_there(width: int) -> None:
    work = replace(work_on(CHART), loop=Loop(1, 2, link=True), click=True, transpose=2)
    bare = draw_transport(View(work, Stages(work.song)), max(80, width)).text()
    pieces = [piece for piece in bare.split("  ") if piece.strip()]
    said = say(work, "Loop: bars 15 → 16: on to the first note of bar 16")
    line = draw_transport(View(said, Stages(work.song)), width).text()
    before = line[: line.index("Loop:")].split("  ")
    assert [piece.strip() for piece in before if piece.strip()] == [
        piece.strip() for piece in pieces[: len([each for each in before if each.strip()])]
    ]


@pytest.mark.parametrize("width", [60, 80, 100])
def test_the_title_line_names_the_section_under_the_cursor(width: int) -> None:
    work, stages_before = opened()
    for bar, name in ((1, "A First"), (5, "B Second")):
        view = View(replace(work, cursor=Cursor(bar, 0)), stages_before)
        assert (
            name[: None if width > 60 else 1]
            in draw_header(view, width).text().partition("♩ = 80")[2]
        )


def test_a_name_that_holds_what_was_typed_comes_before_one_that_has_its_words() -> None:
    titles = [item.label for item in items(after(work_on(CHART), ":written tempo"), Keymap())]
    assert titles[0] == "Written tempo of the song"
    assert "Tempo as written" in titles


@pytest.mark.parametrize("width", [60, 80])
def test_a_long_refusal_goes_on_in_the_line_of_keys(width: int) -> None:
    text = "“/a/folder/of/no/one/song.toml” cannot be written: not permitted; choose another place"
    view = View(refuse(work_on(CHART), text), Stages(work_on(CHART).song))
    lines = [draw_transport(view, width).text(), draw_keys_line(view, width, Keymap()).text()]
    assert " ".join(line.strip() for line in lines) == text
    short = View(refuse(view.work, "No loop"), view.stages)
    assert "chord" in draw_keys_line(short, width, Keymap()).text()


@pytest.mark.parametrize(("place", "plain"), [("C", True), ("C.UTF-8", False)])
def test_a_terminal_set_to_plain_letters_gets_plain_signs(place: str, plain: bool) -> None:
    code = "import pathlib, tui.settings as s; print(s.load(pathlib.Path('none')).ascii)"
    told = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, "LC_ALL": place},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert told.stdout.strip() == str(plain)


@pytest.mark.parametrize(
    ("keys", "whole"),
    [("?↓↓↓↓↓↓↓↓", "Play from the beginning, or from the loop's"),
     (":tempo ladder on", "A tempo ladder needs a loop"),
     (":write a file", "Write a file by its name's ending: audio, MIDI, score, sheet")],
)  # fmt: skip
@pytest.mark.parametrize("size", [(60, 20), (46, 16)])
def test_what_a_narrow_list_cuts_is_told_below_it(
    keys: str, whole: str, size: tuple[int, int]
) -> None:
    work = after(work_on(CHART), keys)
    drawn = draw_list(View(work, Stages(work.song)), *size, Keymap()).text()
    assert whole in " ".join(drawn.split())
