"""What was not saved comes back after a crash; what was saved leaves no trace."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from engine.workshop import Cursor, Entry, EntryKind, Journal, edits, open_file, save, undo
from tests.workshop.test_files import TEXT

DEAD, ALIVE = 2**22 + 1, 1  # above the largest process number Linux gives; the first process


@pytest.fixture
def song(tmp_path: Path) -> Path:
    path = tmp_path / "song.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def journals(tmp_path: Path, process: int = DEAD) -> tuple[Journal, Journal]:
    """That of a workshop which ran as `process`, and that of the one after it."""
    folder = tmp_path / "state"
    return Journal(folder, process), Journal(folder, ALIVE)


def test_an_edit_comes_back_and_undo_goes_to_the_file(song: Path, tmp_path: Path) -> None:
    died, later = journals(tmp_path)
    work = edits.write_symbol(open_file(str(song)), Cursor(2, 0), "Eb6")
    died.keep(work)
    again = later.recover(open_file(str(song)))
    assert again.song == work.song
    assert again.notice.text == "Recovered what was not saved; u goes back to the file"
    assert undo(again).song == open_file(str(song)).song


def test_a_line_being_typed_comes_back(song: Path, tmp_path: Path) -> None:
    died, later = journals(tmp_path)
    line = Entry(EntryKind.CHORD, "Ebmaj", 5, Cursor(2, 0))
    died.keep(replace(open_file(str(song)), entry=line))
    again = later.recover(open_file(str(song)))
    assert again.entry is not None
    assert again.entry.text == "Ebmaj"
    assert again.entry.at == Cursor(2, 0)


def test_recovered_work_is_itself_kept_until_saved(song: Path, tmp_path: Path) -> None:
    died, later = journals(tmp_path)
    died.keep(edits.write_symbol(open_file(str(song)), Cursor(2, 0), "Eb6"))
    again = later.recover(open_file(str(song)))
    assert len(list((tmp_path / "state").iterdir())) == 1
    saved = save(again, str(song))
    later.keep(saved)
    assert list((tmp_path / "state").iterdir()) == []


def test_a_workshop_that_still_runs_keeps_its_own(song: Path, tmp_path: Path) -> None:
    runs, later = journals(tmp_path, ALIVE)[0], Journal(tmp_path / "state", DEAD)
    runs.keep(edits.write_symbol(open_file(str(song)), Cursor(2, 0), "Eb6"))
    assert later.recover(open_file(str(song))).past == ()


def test_another_song_is_left_alone(song: Path, tmp_path: Path) -> None:
    died, later = journals(tmp_path)
    died.keep(edits.write_symbol(open_file(str(song)), Cursor(2, 0), "Eb6"))
    other = tmp_path / "other.toml"
    other.write_text(TEXT, encoding="utf-8")
    assert later.recover(open_file(str(other))).past == ()


def test_a_note_that_cannot_be_read_is_set_aside_not_lost(song: Path, tmp_path: Path) -> None:
    died, later = journals(tmp_path)
    died.keep(edits.write_symbol(open_file(str(song)), Cursor(2, 0), "Eb6"))
    note = next((tmp_path / "state").iterdir())
    note.write_text(note.read_text(encoding="utf-8")[:40], encoding="utf-8")
    found = later.recover(open_file(str(song)))
    assert found.past == ()
    assert "cannot be read" in found.notice.text
    assert len(list((tmp_path / "state").iterdir())) == 1


def test_the_file_changed_after_the_crash_and_both_are_kept(song: Path, tmp_path: Path) -> None:
    died, later = journals(tmp_path)
    work = edits.write_symbol(open_file(str(song)), Cursor(2, 0), "Eb6")
    died.keep(work)
    song.write_text(TEXT.replace("D7", "D9"), encoding="utf-8")
    again = later.recover(open_file(str(song)))
    assert again.song == work.song
    assert again.notice.text == "Recovered; the file has changed: u shows it, s replaces it"
    assert undo(again).song == open_file(str(song)).song


def test_a_former_process_of_the_same_number_is_not_taken_for_this_one(
    song: Path, tmp_path: Path
) -> None:
    died, later = journals(tmp_path, ALIVE)
    work = edits.write_symbol(open_file(str(song)), Cursor(2, 0), "Eb6")
    died.keep(work)
    again = later.recover(open_file(str(song)))
    assert again.song == work.song
    assert Journal(tmp_path / "state", DEAD + 1).left_behind(str(song)) is None  # it runs now
    later.drop(again)
    assert later.left_behind(str(song)) is None
    later.keep(again)
    assert later.recover(open_file(str(song))).song == work.song  # kept until it is saved
