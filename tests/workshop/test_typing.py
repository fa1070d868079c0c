"""Lines that are typed, and what stands beside them."""

from __future__ import annotations

import pytest

from engine.song import read_song
from engine.workshop import Extent, Work, open_work, typing


def work(chart: str) -> Work:
    return open_work(read_song(f'format = 1\nkey = "C major"\n[[section]]\nchart = "{chart}"\n'))


def test_beside_the_songs_key_stands_what_its_chords_say() -> None:
    opened = typing.edit_setting(work("| D | A | Bm | G | D | G | A | D |"), "key", Extent.SONG)
    assert opened.entry is not None
    assert opened.entry.text == "C major"
    assert opened.notice.text.startswith("By its chords: D major 9")


@pytest.mark.parametrize(
    ("chart", "name", "extent"),
    [
        ("| N.C. |", "key", Extent.SONG),
        ("| D |", "key", Extent.SECTION),
        ("| D |", "tempo", Extent.SONG),
    ],
)
def test_beside_other_lines_stands_nothing(chart: str, name: str, extent: Extent) -> None:
    assert typing.edit_setting(work(chart), name, extent).notice.text == ""
