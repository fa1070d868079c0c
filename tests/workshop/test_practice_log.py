"""The practice log: clean tempos that follow their loops, whole files, minutes by the day."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from engine.errors import FileError
from engine.song import Song, read_song
from engine.workshop.practice_log import (
    PracticeLog,
    add_minutes,
    clean_tempo,
    current,
    log_path,
    mark_pass,
    mark_tempo,
    read_log,
    tempo_by_bar,
    write_log,
)

DAY = date(2026, 5, 4)


def song(chart: str = "| C | Am | F | G7 | C | Em | F | G7 |") -> Song:
    return read_song(
        f'format = 1\nkey = "C major"\ntempo = 80\n[[section]]\nname = "A"\nchart = "{chart}"\n'
    )


def practised() -> PracticeLog:
    log = PracticeLog()
    for clean in (True, False, True, True, True):
        log = mark_pass(log, song(), (1, 2), "right", clean=clean, day=DAY)
    log = mark_tempo(log, song(), (1, 2), "right", 60, day=DAY)
    log = mark_tempo(log, song(), (1, 2), "both", 52, day=DAY)
    return mark_tempo(log, song(), (2, 3), "both", 48, day=DAY)


def test_passes_are_counted_and_the_clean_tempo_only_rises() -> None:
    log = practised()
    first = log.loops[0]
    assert (first.passes, first.clean, first.tempo) == (5, 4, 60)
    slower = mark_tempo(log, song(), (1, 2), "right", 44, day=DAY)
    assert clean_tempo(slower, song(), (1, 2), "right") == 60
    assert clean_tempo(log, song(), (1, 2), "left") == 0


def test_a_bars_clean_tempo_is_the_fastest_of_its_loops() -> None:
    assert tempo_by_bar(practised(), song()) == {1: 52, 2: 52, 3: 48}
    assert tempo_by_bar(practised(), song(), "right") == {1: 60, 2: 60}


def test_a_loop_is_found_again_where_bars_are_put_in_before_it() -> None:
    longer = song("| Dm | G | C | Am | F | G7 | C | Em | F | G7 |")
    assert [loop.bars for loop in current(practised(), longer)] == [(3, 4), (3, 4), (4, 5)]
    again = mark_tempo(practised(), longer, (3, 4), "both", 66, day=DAY)
    assert len(again.loops) == 3
    assert clean_tempo(again, longer, (3, 4), "both") == 66


def test_a_loop_whose_chords_change_is_no_more_clean() -> None:
    other = song("| C | Am7 | F | G7 | C | Em | F | G7 |")
    assert tempo_by_bar(practised(), other) == {}
    assert tempo_by_bar(practised(), song()) != {}


def test_like_bars_elsewhere_are_a_loop_of_their_own() -> None:
    log = mark_tempo(PracticeLog(), song(), (3, 4), "both", 70, day=DAY)
    log = mark_tempo(log, song(), (7, 8), "both", 50, day=DAY)
    assert tempo_by_bar(log, song()) == {3: 70, 4: 70, 7: 50, 8: 50}


def test_the_file_gives_back_what_was_written(tmp_path: Path) -> None:
    log = add_minutes(add_minutes(practised(), 12.5, DAY), 3, DAY)
    path = log_path(tmp_path / "song.toml", tmp_path / "logs")
    write_log(path, log)
    assert read_log(path) == log
    assert log.minutes_on(DAY) == 15.5
    assert [each.name for each in path.parent.iterdir()] == [path.name]


def test_songs_of_one_name_in_two_folders_have_two_logs(tmp_path: Path) -> None:
    paths = {log_path(tmp_path / folder / "song.toml", tmp_path) for folder in ("a", "b")}
    assert len(paths) == 2


def test_where_there_is_no_file_the_log_is_empty(tmp_path: Path) -> None:
    assert read_log(tmp_path / "none.json") == PracticeLog()


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format": 2}', '{"format": 1, "loops": [{}]}'])
def test_a_broken_file_is_put_aside_and_begun_anew(text: str, tmp_path: Path) -> None:
    path = tmp_path / "song.json"
    path.write_text(text)
    assert read_log(path) == PracticeLog()
    assert path.with_suffix(".broken").read_text() == text


def test_a_folder_that_cannot_be_made_is_an_error_of_ours(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(FileError, match="cannot be written"):
        write_log(tmp_path / "file" / "song.json", PracticeLog())


def test_the_lesson_sheet_says_what_is_clean_so_far() -> None:
    from engine.arrange import arrange
    from engine.exchange import lesson_markdown
    from engine.harmony import analyse
    from engine.workshop.practised import practised

    log = mark_pass(PracticeLog(), song(), (2, 3), "both", clean=True, day=DAY)
    log = mark_tempo(log, song(), (2, 3), "both", 60, day=DAY)
    log = mark_pass(log, song(), (5, 5), "left", clean=False, day=DAY, offsets="1/2:")
    rows = practised(log, song())
    assert [row.cells for row in rows] == [
        ("2–3", "together", "60", "1 of 1 clean", "4 May 2026"),
        ("5.3–5.4", "left alone", "not yet", "0 of 1 clean", "4 May 2026"),
    ]
    reading = analyse(song())
    text = lesson_markdown(song(), reading, arrange(song(), reading), rows)
    plan, _, after = text.partition("Clean so far:")
    assert "## Practice plan" in plan
    assert "| 2–3 | together | 60 | 1 of 1 clean | 4 May 2026 |" in after
    assert "Clean so far" not in lesson_markdown(song(), reading, arrange(song(), reading))
