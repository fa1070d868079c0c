"""Passes, minutes and rests: what the practice log is told, and when the player is warned."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from engine.song import Song
from engine.workshop import Loop, Mark
from engine.workshop.practice_log import tempo_by_bar
from tests.tui.desk_helpers import ran, work_on
from tui.practising import Practising


def practising(folder: Path) -> Practising:
    return Practising("loft.toml", lambda: date(2026, 3, 1), folder)


def clean(folder: Path, song: Song) -> dict[int, float]:
    return tempo_by_bar(practising(folder).log, song)


def test_a_clean_rung_is_remembered_for_the_bars_of_the_loop(tmp_path: Path) -> None:
    work, asked = ran(work_on("| C | [Am] | F |"), "v→lL111")
    marks = [each for each in asked if isinstance(each, Mark)]
    assert [mark.tempo for mark in marks] == [0, 0, 40]
    log = practising(tmp_path)
    for mark in marks:
        log.mark(work.song, mark)
    assert clean(tmp_path, work.song) == {2: 40, 3: 40}
    other = work_on("| C | [Am] | G |").song  # other chords: the loop is another
    assert clean(tmp_path, other) == {}


def test_a_slip_counts_as_a_pass_that_was_not_clean(tmp_path: Path) -> None:
    work, asked = ran(work_on("| [C] | Am |"), "lL10")
    log = practising(tmp_path)
    for mark in asked:
        if isinstance(mark, Mark):
            log.mark(work.song, mark)
    assert (log.log.loops[0].passes, log.log.loops[0].clean) == (2, 1)


def test_twenty_five_minutes_of_playing_ask_for_a_rest_once(tmp_path: Path) -> None:
    # BAPAM: five minutes off in every half hour, so after 25 (shared/tables/practice_care.toml).
    log = practising(tmp_path)
    told = [log.played(30) for _ in range(70)]
    assert [index for index, text in enumerate(told) if text] == [49]
    log.stopped()
    assert practising(tmp_path).log.minutes_on(date(2026, 3, 1)) == 35


def test_a_song_without_a_file_keeps_no_log(tmp_path: Path) -> None:
    work, _ = ran(work_on("| [C] | Am |"), "l")
    log = Practising("", folder=tmp_path)
    log.mark(work.song, Mark(Loop(1, 1), "both", clean=True, tempo=60))
    assert list(tmp_path.iterdir()) == []
    assert tempo_by_bar(log.log, work.song) == {1: 60}
