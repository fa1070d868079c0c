"""Sheets and scores by the command line: by name, on both papers, faults in clear words."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from tests.cli.command_line import CommandLine

SONG = Path(__file__).parents[2] / "shared" / "songs" / "paper-lanterns.toml"


@pytest.mark.parametrize("sheet", ["lesson", "lead", "chart", "figures", "singer"])
def test_a_sheet_is_named_by_its_file_or_by_the_option(
    alberti: CommandLine, tmp_path: Path, sheet: str
) -> None:
    named, asked = tmp_path / f"song.{sheet}.pdf", tmp_path / "other.pdf"
    assert alberti("lesson", SONG, "-o", named).status == 0
    assert alberti("lesson", SONG, "-o", asked, "--sheet", sheet).status == 0
    assert named.read_bytes() == asked.read_bytes()
    assert named.read_bytes().startswith(b"%PDF")


def test_papers_differ_in_size(alberti: CommandLine, tmp_path: Path) -> None:
    """PDF points: A4 is 595.28 by 841.89 (ISO 216), Letter 612 by 792 (ANSI)."""
    for command in ("render", "lesson"):
        for paper, size in (("A4", (595.28, 841.89)), ("Letter", (612, 792))):
            out = tmp_path / f"{command}-{paper}.pdf"
            assert alberti(command, SONG, "-o", out, "--paper", paper).status == 0
            box = re.search(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", out.read_bytes())
            assert box is not None
            assert (float(box[1]), float(box[2])) == pytest.approx(size, abs=0.1)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("lesson", SONG, "-o", "x.doc"), "end its name in .pdf or .md"),
        (("lesson", SONG, "-o", "x"), "has no ending"),
        (("lesson", SONG, "-o", "x.md", "--sheet", "lead"), "not written as “.md”"),
        (("lesson", SONG, "-o", "nowhere/x.pdf"), "cannot be written"),
        (("render", SONG, "-o", "nowhere/x.pdf"), "cannot be written"),
        (("render", SONG, "-o", "out/x.lead.pdf"), "lesson SONG -o out/x.lead.pdf' writes it"),
        (("render", SONG, "-o", "x.pdf", "--bars", "19-40"), "the song has bars 1 to 20"),
        (("render", SONG, "-o", "x.pdf", "--bars", "9-3"), "the song has bars 1 to 20"),
    ],
)
def test_faults_are_told_in_one_line(
    alberti: CommandLine,
    arguments: tuple[object, ...],
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    outcome = alberti(*arguments)
    assert outcome.status == 2
    assert words in outcome.err
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("library", ["verovio", "typst"])
def test_a_missing_library_is_named_with_its_cure(
    alberti: CommandLine, library: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, library, None)
    outcome = alberti("render", SONG, "-o", tmp_path / "x.pdf")
    assert outcome.status == 2
    assert f"pip install {library}" in outcome.err
    assert alberti("render", SONG, "-o", tmp_path / "x.musicxml").status == 0
