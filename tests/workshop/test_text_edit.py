"""The song's text in an editor: remarks stay, faults have their place, nothing typed is lost."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from engine.song import read_song
from engine.workshop import EditText, Tone, Work, open_file, open_work, save, text_edit, text_of
from engine.workshop.history import undo

TEXT = """# a remark
format = 1
title = "Loft"
key = "C major"
tempo = 80

[[section]]
name = "A"
chart = "| C | F |"
"""


def work() -> Work:
    return open_work(read_song(TEXT), text=TEXT)


def test_what_is_edited_is_read_with_its_remarks_and_undo_takes_it_back() -> None:
    _, effects = text_edit.edit_text(work())
    assert effects == (EditText(TEXT),)
    wanted = TEXT.replace("| C | F |", "| C | Dm |").replace("a remark", "another remark")
    after = text_edit.taken(work(), TEXT, wanted)
    assert after.song.bars[1].slots[0].typed == "Dm"
    assert text_of(after) == wanted
    assert undo(after).song == work().song


def test_remarks_alone_count_as_an_edit() -> None:
    after = text_edit.taken(work(), TEXT, TEXT.replace("a remark", "another"))
    assert after.song == work().song
    assert after.edited
    assert "another" in text_of(after)
    assert not text_edit.taken(work(), TEXT, TEXT).edited


def test_what_cannot_be_read_is_placed_kept_and_opened_again() -> None:
    broken = TEXT.replace("| C | F |", "| C | Fzz |")
    after = text_edit.taken(work(), TEXT, broken)
    assert after.song == work().song
    assert after.notice.tone is Tone.TROUBLE
    assert "Line 9, column 17" in after.notice.text
    assert text_edit.edit_text(after).effects == (EditText(broken),)
    mended = text_edit.taken(after, broken, broken.replace("Fzz", "F7"))
    assert mended.song.bars[1].slots[0].typed == "F7"
    assert mended.unread == ""
    given_up = text_edit.taken(after, broken, "")
    assert text_edit.edit_text(given_up).effects == (EditText(TEXT),)


def test_saving_writes_the_edited_text_and_knows_its_file_again(tmp_path: Path) -> None:
    path = tmp_path / "loft.toml"
    path.write_text(TEXT, encoding="utf-8")
    wanted = TEXT.replace("a remark", "another").replace("tempo = 80", "tempo = 90")
    after = text_edit.taken(open_file(str(path)), TEXT, wanted)
    saved = save(after, str(path))
    assert path.read_text(encoding="utf-8") == wanted
    assert not saved.edited
    path.write_text(TEXT, encoding="utf-8")  # another program's change is still noticed
    assert "changed on disk" in save(replace(saved, song=work().song), str(path)).notice.text
