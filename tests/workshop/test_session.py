"""A song is found again as it was left, whatever has become of it meanwhile."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from engine.song import read_song
from engine.workshop import Cursor, Hands, Loop, Work, open_work
from engine.workshop.session import remember, resumed


def work(bars: int = 4) -> Work:
    chart = " | ".join(["C F"] * bars)
    song = read_song(
        f'format = 1\nkey = "C major"\ntempo = 80\n[[section]]\nname = "A"\nchart = "| {chart} |"\n'
    )
    return open_work(song, path="loft.toml")


def left() -> Work:
    """The work as it was left."""
    loop = Loop(2, 3, Fraction(1, 2), Fraction(3, 4), link=True)
    return replace(work(), cursor=Cursor(3, 1), loop=loop, tempo=46.0, hands=Hands.LEFT)


def test_place_loop_tempo_and_hands_come_back(tmp_path: Path) -> None:
    remember(left(), tmp_path)
    found = resumed(work(), tmp_path)
    for name in ("cursor", "loop", "tempo", "hands"):
        assert getattr(found, name) == getattr(left(), name)
    assert found.notice.text == "As you left it: bar 3, loop 2.3–3.3 → 4"


def test_a_song_that_grew_shorter_keeps_what_still_fits(tmp_path: Path) -> None:
    remember(left(), tmp_path)
    found = resumed(work(2), tmp_path)
    assert found.cursor == Cursor(2, 1)
    assert found.loop == Loop(2, 2, Fraction(1, 2), None, link=True)
    assert resumed(work(1), tmp_path).loop is None


def test_at_the_beginning_nothing_is_said(tmp_path: Path) -> None:
    assert resumed(work(), tmp_path) == work()
    remember(work(), tmp_path)
    assert resumed(work(), tmp_path).notice.text == ""
    blank = replace(work(), path="")
    remember(blank, tmp_path)
    assert resumed(blank, tmp_path) == blank


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '{"cursor": [1], "loop": [1], "tempo": 1, "hands": "no"}',
        '{"cursor": [1, 0], "loop": [3, 2, "0", "", false], "tempo": null, "hands": "both hands"}',
        '{"cursor": [1, 0], "loop": [1, 2, "1/0", "", 0], "tempo": null, "hands": "both hands"}',
    ],
)
def test_a_note_that_cannot_be_read_changes_nothing(tmp_path: Path, text: str) -> None:
    remember(work(), tmp_path)
    file = next(tmp_path.iterdir())
    file.write_text(text, encoding="utf-8")
    assert resumed(work(), tmp_path) == work()
