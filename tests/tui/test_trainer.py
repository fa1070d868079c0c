"""The screen with a MIDI keyboard, taps, a soundfont that is none, and a log that is kept."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import mido
import pytest
from textual.pilot import Pilot

from engine.errors import SoundError
from engine.play import Player
from engine.play.listen import Heard, Keyboard
from engine.song import Hand
from engine.workshop import Hands, Notice, Preferences, Render, Tone, Work, open_file, refuse, say
from tests.tui.desk_helpers import SONG, run, settled, typed, work_on
from tui.app import Workshop
from tui.hearing import Hearing
from tui.practising import Practising
from tui.settings import Options
from tui.view import sounding
from tui.widgets.chord import sounding_keys

CHART = "| [C] | Am F | Dm7 | G7 |"


class Piano:
    """A keyboard whose keys the test presses: real MIDI messages, no system beneath."""

    def __init__(self) -> None:
        self.heard: Heard = lambda _: None

    def open(self, heard: Heard) -> SimpleNamespace:
        self.heard = heard
        return SimpleNamespace(name="Test Piano", close=lambda: None)

    def play(self, *keys: int) -> None:
        for key in keys:
            self.heard(mido.Message("note_on", note=key, velocity=64))

    def release(self, *keys: int) -> None:
        for key in keys:
            self.heard(mido.Message("note_on", note=key, velocity=0))  # a note-off, Standard MIDI


def nobody(_: Heard) -> SimpleNamespace:
    raise SoundError("MIDI ports are not there (no sequencer)", "pip install 'alberti[ports]'")


def app_with(
    opener: Callable[[Heard], SimpleNamespace],
    work: Work | None = None,
    *,
    clock: Callable[[], float] = time.monotonic,
    practising: Practising | None = None,
    keep_preferences: Callable[[Preferences], None] | None = None,
) -> Workshop:
    return Workshop(
        work or work_on(CHART),
        Player(),
        Options(),
        clock=clock,
        glow_seconds=0,
        practising=practising,
        hearing=Hearing(lambda: Keyboard(opener, there=lambda _: True)),
        keep_preferences=keep_preferences,
    )


async def until(pilot: Pilot[int], true: Callable[[], bool]) -> None:
    for _ in range(400):
        await pilot.pause(0.01)
        if true():
            return
    raise AssertionError("it never came")


def test_step_mode_waits_for_the_right_notes_and_marks_the_wrong_one() -> None:
    piano = Piano()

    async def test() -> None:
        app = app_with(piano.open)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "w")
            await until(pilot, lambda: app.work.keyboard == "Test Piano")
            assert "it waits for the right ones" in app.desk.text()
            assert app.work.steps is not None
            keys = sorted(app.work.steps.group.keys)
            piano.play(keys[0], 66)
            await until(pilot, lambda: bool(app.work.steps and app.work.steps.wrong))
            text = app.desk.text()
            assert "not F♯4" in text
            assert "■" in text.split("left hand")[1]  # the right one
            assert "×" in text
            assert app.work.step == 0
            piano.release(66)
            piano.play(*keys[1:])
            await until(pilot, lambda: app.work.step != 0)

    run(test)


def test_a_chord_held_is_shown_and_written_with_one_key() -> None:
    piano = Piano()

    async def test() -> None:
        app = app_with(piano.open)
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            await typed(pilot, "I")
            await until(pilot, lambda: app.work.keyboard == "Test Piano")
            piano.play(57, 60, 65)
            await until(pilot, lambda: len(app.work.held) == 3)
            await pilot.press("escape")
            assert "held: A C F = F/A: I writes it here" in app.desk.text()
            await typed(pilot, "I")
            assert app.work.song.bars[0].slots[0].typed == "F/A"

    run(test)


def test_without_a_keyboard_the_key_says_what_to_do_and_step_mode_goes_on_without() -> None:
    async def test() -> None:
        app = app_with(nobody)
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            await typed(pilot, "w")
            await until(pilot, lambda: app.trainer.hearing.looked)
            await pilot.pause(0.1)
            assert "alberti[ports]" not in app.desk.text()
            await typed(pilot, "⎋I")
            await until(pilot, lambda: "alberti[ports]" in app.desk.text())
            assert app.work.notice.tone is Tone.REFUSAL

    run(test)


def test_taps_set_the_tempo_that_is_heard() -> None:
    now = [0.0]

    async def test() -> None:
        app = app_with(nobody, clock=lambda: now[0])
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            for _ in range(4):
                await pilot.press("comma")
                now[0] += 1.0  # a beat a second
            assert app.work.tempo == 60
            assert app.player.options.factor == pytest.approx(60 / 80)

    run(test)


def test_step_mode_sounds_what_the_hands_strike(monkeypatch: pytest.MonkeyPatch) -> None:
    struck: list[tuple[tuple[int, int], ...]] = []

    async def test() -> None:
        app = app_with(nobody)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            monkeypatch.setattr(app.player, "strike", lambda keys, *_: struck.append(tuple(keys)))
            await typed(pilot, "Kw ")
            assert app.stages.part is not None
            first = {n.pitch.midi + 1 for n in app.stages.part.notes if n.onset == 0}
            assert {key for key, _ in struck[0]} == first
            assert all(0 < loud < 128 for _, loud in struck[0])
            await typed(pilot, "⎋HHw")
            left = {
                n.pitch.midi + 1
                for n in app.stages.part.notes
                if n.onset == app.work.step and n.hand is Hand.LEFT
            }
            assert {key for key, _ in struck[-1]} == left

    run(test)


def test_a_link_reaches_the_player_with_the_first_note_of_the_next_bar() -> None:
    async def test() -> None:
        app = app_with(nobody)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "l&")
            loop = app.player.options.loop
            assert loop is not None
            assert loop[0] == 0
            assert 1 < loop[1] <= Fraction(5, 4)

    run(test)


def test_a_soundfont_that_is_none_is_refused_and_nothing_changes(tmp_path: Path) -> None:
    bad = tmp_path / "bad.sf2"
    bad.write_bytes(b"no soundfont at all")

    async def test() -> None:
        app = app_with(nobody)
        async with app.run_test(size=(120, 40)) as pilot:
            await settled(pilot)
            await pilot.press("colon", *"soundfont", "enter")
            await pilot.press(*str(bad), "enter")
            await until(pilot, lambda: app.work.notice.tone is Tone.REFUSAL)
            assert "bad.sf2" in app.work.notice.text
            assert app.work.preferences == Preferences()

    run(test)


def test_what_was_clean_is_there_again_and_preferences_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "song.toml"
    path.write_text(SONG.format(chart="| C | F |", key="C major", meter="4/4"), encoding="utf-8")
    kept: list[Preferences] = []

    def log() -> Practising:
        return Practising(str(path), lambda: date(2026, 3, 1), tmp_path / "log")

    async def test() -> None:
        first = app_with(
            nobody, open_file(str(path)), practising=log(), keep_preferences=kept.append
        )
        async with first.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await typed(pilot, "lL111")
            assert "✓40" in first.desk.text()
            await pilot.press("P", *["down"] * 5, "left", "escape", "q")
        assert kept == [Preferences(click_level=60)]
        again = app_with(nobody, open_file(str(path)), practising=log())
        async with again.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            assert "✓40" in again.desk.text()
            await typed(pilot, "l")
            assert "clean 40" in again.desk.text()
            await typed(pilot, "L")
            assert again.work.tempo == 44  # a step above what is known to be clean
            await typed(pilot, "H")
            assert "✓40" not in again.desk.text()  # of the right hand alone nothing is known
            await typed(pilot, "L→lL111HH")
            chart = again.desk.text()
            assert "✓40" in chart
            assert "r44" in chart  # bar 2: known of the right hand only

    run(test)


def test_what_was_said_leaves_the_line_to_the_music() -> None:
    now = [0.0]
    trainer = app_with(nobody, clock=lambda: now[0]).trainer
    work = say(work_on(CHART), "Loop: bar 1")
    refused = refuse(work, "No")
    for each in (work, refused):
        assert trainer.faded(each) is each
    assert trainer.faded(work) is work
    now[0] += 7
    assert trainer.faded(work).notice.text == ""
    assert trainer.faded(refused) is refused
    now[0] += 7
    assert trainer.faded(refused) is refused  # a reason stays until the next key


def test_the_strip_shows_the_keys_that_are_down_while_it_plays() -> None:
    async def test() -> None:
        app = app_with(nobody)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            part = app.stages.part
            assert part is not None
            view = app.view()
            for eighth in range(8):
                at = Fraction(eighth, 8)
                found = sounding_keys(view, sounding(app.work.song, at))
                wanted = {n.pitch for n in part.notes if n.onset <= at < n.end}
                assert set(found) == wanted
            apart = replace(app.work, hands=Hands.LEFT)
            found = sounding_keys(replace(view, work=apart), sounding(app.work.song, Fraction(0)))
            lefts = {n.pitch for n in part.notes if n.onset == 0 and n.hand is Hand.LEFT}
            assert set(found) == lefts

    run(test)


@pytest.mark.parametrize("size", [(60, 20), (80, 24), (120, 40)])
def test_a_caution_is_shown_where_practice_begins_and_then_leaves_the_keys_their_line(
    size: tuple[int, int],
) -> None:
    now = [0.0]

    async def test() -> None:
        app = app_with(nobody, clock=lambda: now[0])
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            await typed(pilot, "l→")
            care = "Take five minutes off"
            await until(pilot, lambda: care in app.desk.text())
            now[0] += 10
            await pilot.pause(0.2)
            assert care in app.desk.text()
            await typed(pilot, "P")
            now[0] += 100  # under a list it is not read
            await pilot.pause(0.2)
            await pilot.press("escape")
            await until(pilot, lambda: size[0] > 60 or care in app.desk.text())
            now[0] += 10
            await until(pilot, lambda: not app.work.caution)
            assert care not in app.desk.text()
            assert "? keys" in app.desk.text()

    run(test)


def test_what_falls_due_while_one_plays_stays_until_it_stops() -> None:
    now = [0.0]
    trainer = app_with(nobody, clock=lambda: now[0]).trainer
    work = replace(work_on(CHART), playing=True)
    for _ in range(25 * 60 * 2 + 2):
        now[0] += 0.5
        work = trainer.cared(trainer.played(work), shown=True)
    assert work.caution.startswith("Take five minutes off")
    for _ in range(10):
        now[0] += 20
        assert trainer.cared(work, shown=True) is work
    calm = replace(work, caution="")
    assert trainer.cared(calm, shown=True) is calm
    again = replace(calm, caution=work.caution)  # said where practice begins anew
    assert trainer.cared(again, shown=True) is again
    now[0] += 16
    assert trainer.cared(again, shown=True).caution == ""


async def write_slowly(text: str, asked: Render, *_: object, **__: object) -> Notice:
    """Write a file as the screen has it done, without a child process."""
    path = asked.path
    await asyncio.sleep(0.1)
    if not Path(path).parent.exists():
        return Notice("it cannot be written: No such file or directory", Tone.TROUBLE)
    Path(path).write_text(text, encoding="utf-8")
    return Notice(f"Written: {path}")


@pytest.mark.parametrize(("key", "name"), [("S", "song.toml"), ("R", "song.mid")])
@pytest.mark.parametrize("width", [60, 80, 120])
def test_a_line_whose_file_cannot_be_written_stays_open_with_the_reason(
    key: str, name: str, width: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.app.write_part", write_slowly)
    place = str(tmp_path / "no such folder" / name)

    async def test() -> None:
        app = app_with(nobody)
        async with app.run_test(size=(width, 24)) as pilot:
            await settled(pilot)
            await pilot.press(key, "ctrl+u", *("space" if c == " " else c for c in place), "enter")
            await until(pilot, lambda: app.work.notice.tone is Tone.TROUBLE)
            assert app.work.entry is not None
            assert app.work.entry.text == place
            assert "cannot be written: No such file" in app.desk.text()
            (tmp_path / "no such folder").mkdir()
            await pilot.press("enter")
            await until(pilot, lambda: Path(place).exists())
            await until(pilot, lambda: place in app.work.notice.text)
            assert app.work.entry is None

    run(test)


def test_a_failed_writing_opens_no_line_under_hands_that_went_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.app.write_part", write_slowly)

    async def test() -> None:
        app = app_with(nobody)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await pilot.press("R", "ctrl+u", *str(tmp_path / "none" / "a.mid"), "enter", "right")
            await until(pilot, lambda: app.work.notice.tone is Tone.TROUBLE)
            assert app.work.entry is None

    run(test)
