"""The writer's own catalogue of figures: what is kept in it and what is refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from engine.errors import FigureError, FileError
from engine.figures import Figure, parse_figure
from engine.meter import Meter
from engine.song import Hand, read_song
from engine.workshop import KeepFigure, open_work, part_of
from engine.workshop import own_figures as own
from engine.workshop.own_figures import keep_bars_figure, keep_figure, own_figures

SONG = """
format = 1
title = "Own"
key = "C major"
meter = "3/4"
[[section]]
name = "A"
chart = "| C | G7 | C |"
right = "1 2 3 2 3 2"
"""


def _figure(name: str, text: str = "1 3 2 3/8") -> Figure:
    return replace(parse_figure(text, Hand.RIGHT), meter=Meter.parse("4/4"), name=name)


def test_a_figure_is_kept_by_its_name_and_one_of_that_name_gives_way(tmp_path: Path) -> None:
    file = tmp_path / "new" / "figures.toml"
    assert own_figures(file) == ()
    assert keep_figure(_figure("water"), file) is False
    assert keep_figure(_figure("glass", "3 2 1 2/8"), file) is False
    assert keep_figure(_figure("water", "1 2 3 2/8"), file) is True
    found = {figure.name: figure for figure in own_figures(file)}
    assert set(found) == {"water", "glass"}
    assert found["water"] == _figure("water", "1 2 3 2/8")


@pytest.mark.parametrize("name", ["", "  ", "1 2 3 2", "rising and falling"])
def test_a_name_that_would_mislead_is_refused(tmp_path: Path, name: str) -> None:
    file = tmp_path / "figures.toml"
    with pytest.raises(FigureError):
        keep_figure(_figure(name), file)
    assert not file.exists()


def test_a_file_that_is_no_catalogue_is_told_with_its_name(tmp_path: Path) -> None:
    file = tmp_path / "figures.toml"
    file.write_bytes(b"[[figure]]\nname = \xff")
    with pytest.raises(FileError, match="your figures cannot be read") as told:
        own_figures(file)
    assert told.value.place is not None
    assert told.value.place.file == str(file)


def test_a_bars_figure_is_kept_as_written_or_else_as_it_is_played(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "figures.toml"
    monkeypatch.setattr(own, "own_figures_file", lambda: file)
    work = open_work(read_song(SONG))
    part = part_of(work.song)
    work = keep_bars_figure(work, part, KeepFigure("my wave", Hand.RIGHT, 1))
    assert work.notice.text == "Kept among your figures: my wave"
    keep_bars_figure(work, part, KeepFigure("my bass", Hand.LEFT, 1))
    right, left = own_figures()
    assert (right.name, right.text, right.meter) == ("my wave", "1 2 3 2 3 2", work.bar.meter)
    assert left.hand is Hand.LEFT
    assert left.slots[0].tokens == ("R",)
