"""The user's own editor: which it is, what it leaves, and what is said where it fails."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from engine.errors import FileError
from tests.tui.desk_helpers import work_on
from tui.editor import edited, edited_in, editor_of


def script(code: str) -> list[str]:
    """An editor that does what the code says with `file`."""
    return [sys.executable, "-c", f"import sys, pathlib; file = pathlib.Path(sys.argv[1]); {code}"]


def test_the_editor_is_the_one_the_user_names() -> None:
    assert editor_of({"EDITOR": "nano -w"}) == ["nano", "-w"]
    assert editor_of({"EDITOR": "nano", "VISUAL": "'my editor' -x"}) == ["my editor", "-x"]


@pytest.mark.parametrize("environment", [{}, {"EDITOR": "  "}, {"EDITOR": "nano 'open"}])
def test_without_one_it_says_what_to_set(environment: dict[str, str]) -> None:
    with pytest.raises(FileError) as caught:
        editor_of(environment)
    assert "set EDITOR" in caught.value.cure


def test_it_gets_the_text_under_the_songs_name_and_gives_back_what_was_written() -> None:
    editor = script("file.write_text(file.read_text() + file.name)")
    assert edited("G♯ ", "loft.toml", editor) == "G♯ loft.toml"


@pytest.mark.parametrize(
    ("editor", "why"),
    [
        (script("sys.exit(3)"), "ended with 3"),
        (script("file.unlink()"), "No such file"),
        (script("file.write_bytes(b'\\xff\\xfe')"), "UTF-8"),
        (["no-such-editor-anywhere"], "cannot be run"),
    ],
)
def test_an_editor_that_fails_changes_nothing_and_says_why(editor: list[str], why: str) -> None:
    with pytest.raises(FileError) as caught:
        edited("text", "loft.toml", editor)
    assert why in str(caught.value)


@pytest.mark.parametrize("editor", ["no-such-editor-anywhere", "false"])
def test_the_screen_comes_back_after_an_editor_that_fails(
    editor: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The screen's own way of standing aside is left in the middle where something is raised."""
    seen = []

    @contextmanager
    def aside() -> Iterator[None]:
        seen.append("aside")
        yield
        seen.append("back")

    monkeypatch.setenv("VISUAL", editor)
    work = work_on("| [C] | Am |")
    refused = edited_in(work, "text", aside)
    assert seen == ["aside", "back"]
    assert refused.song == work.song
    assert editor in refused.notice.text


def test_an_interrupt_while_the_editor_runs_is_the_editors_alone() -> None:
    code = "import os, signal; os.kill(os.getppid(), signal.SIGINT); file.write_text('kept')"
    before = signal.getsignal(signal.SIGINT)
    assert edited("text", "loft.toml", script(code)) == "kept"
    assert signal.getsignal(signal.SIGINT) is before
    with pytest.raises(FileError, match=f"ended with {-signal.SIGINT}"):
        edited("text", "loft.toml", script("import os; os.kill(os.getpid(), 2)"))
