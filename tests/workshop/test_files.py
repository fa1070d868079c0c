"""Saving whole or not at all, and never over what another has written."""

from __future__ import annotations

from pathlib import Path

import pytest

from engine.errors import FileError, SongError
from engine.song import load_song
from engine.workshop import Cursor, edits, open_file, save

TEXT = """# a remark that must stay
format = 1
title = "Quiet Pier"
key = "G minor"
meter = "6/8"
tempo = 50   # slowly

[[section]]
name = "A"
chart = \"\"\"
| Gm | Cm/Eb | D7 | Gm |   # and this one
\"\"\"
"""


@pytest.fixture
def song(tmp_path: Path) -> Path:
    path = tmp_path / "quiet-pier.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def test_saving_changes_the_one_symbol_and_keeps_every_remark(song: Path) -> None:
    work = edits.write_symbol(open_file(str(song)), Cursor(3, 0), "D7b9")
    saved = save(work, str(song))
    assert song.read_text(encoding="utf-8") == TEXT.replace("| D7 |", "| D7b9 |")
    assert not saved.edited
    assert saved.text == song.read_text(encoding="utf-8")


def test_a_file_that_changed_meanwhile_is_not_written_over_unasked(song: Path) -> None:
    work = edits.write_symbol(open_file(str(song)), Cursor(3, 0), "D7b9")
    other = TEXT.replace("Gm |   #", "G |   #")
    song.write_text(other, encoding="utf-8")
    warned = save(work, str(song))
    assert song.read_text(encoding="utf-8") == other
    assert warned.edited
    assert "changed on disk" in warned.notice.text
    forced = save(warned, warned.overwrite, force=True)
    assert not forced.edited
    assert load_song(song) == forced.song


def test_a_new_name_without_an_ending_gets_that_of_song_files(song: Path, tmp_path: Path) -> None:
    saved = save(open_file(str(song)), str(tmp_path / "harbour"))
    assert saved.path == str(tmp_path / "harbour.toml")
    assert load_song(saved.path) == saved.song
    warned = save(open_file(str(song)), str(tmp_path / "harbour"))
    assert "“harbour.toml” exists already" in warned.notice.text
    for folder in (tmp_path, f"{tmp_path}/"):
        with pytest.raises(FileError, match=r"folder|directory"):
            save(open_file(str(song)), str(folder), force=True)
    bare = tmp_path / "bare"
    bare.write_text(TEXT, encoding="utf-8")
    assert save(open_file(str(bare)), str(bare)).path == str(bare)  # its own name stays


def test_another_file_is_not_written_over_unasked(song: Path, tmp_path: Path) -> None:
    there = tmp_path / "other.toml"
    there.write_text("mine", encoding="utf-8")
    warned = save(open_file(str(song)), str(there))
    assert there.read_text(encoding="utf-8") == "mine"
    assert warned.path == str(song)
    assert save(warned, str(there), force=True).path == str(there)


def test_a_folder_that_is_not_there_is_named_and_nothing_is_lost(song: Path) -> None:
    work = edits.write_symbol(open_file(str(song)), Cursor(1, 0), "Eb")
    with pytest.raises(FileError, match="cannot be written"):
        save(work, str(song.parent / "nowhere" / "x.toml"))
    assert song.read_text(encoding="utf-8") == TEXT


def test_no_part_of_a_file_is_left_behind(song: Path) -> None:
    save(edits.write_symbol(open_file(str(song)), Cursor(1, 0), "Eb"), str(song))
    assert list(song.parent.iterdir()) == [song]


def test_the_file_keeps_its_rights(song: Path) -> None:
    song.chmod(0o640)
    save(edits.write_symbol(open_file(str(song)), Cursor(1, 0), "Eb"), str(song))
    assert song.stat().st_mode & 0o777 == 0o640


def test_a_missing_file_and_a_wrong_one_name_place_and_cure(tmp_path: Path) -> None:
    with pytest.raises(FileError) as missing:
        open_file(str(tmp_path / "none.toml"))
    assert missing.value.place is not None
    assert missing.value.place.file.endswith("none.toml")
    wrong = tmp_path / "wrong.toml"
    wrong.write_text("this is not a song", encoding="utf-8")
    with pytest.raises((FileError, SongError)) as found:
        open_file(str(wrong))
    assert found.value.place is not None
    assert found.value.place.line == 1
    assert found.value.cure


def test_a_song_is_not_saved_under_the_name_of_another_kind_of_file(
    song: Path, tmp_path: Path
) -> None:
    with pytest.raises(FileError, match="ending of a sound file"):
        save(open_file(str(song)), str(tmp_path / "pier.wav"))
    assert not (tmp_path / "pier.wav").exists()
    odd = tmp_path / "song.mid"
    odd.write_text(TEXT, encoding="utf-8")
    assert save(open_file(str(odd)), str(odd)).path == str(odd)  # its own file it may keep
