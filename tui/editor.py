"""The user's own editor, on a file of its own, while the screen stands aside."""

from __future__ import annotations

import os
import shlex
import subprocess
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from signal import SIGINT, signal
from threading import current_thread, main_thread

from textual.app import SuspendNotSupported

from engine.errors import AlbertiError, FileError
from engine.workshop import Work, refuse, text_edit

CURE = "set EDITOR to one that is there, like nano, and start again"


def editor_of(environment: Mapping[str, str] = os.environ) -> list[str]:
    """The editor's words, from VISUAL or EDITOR. Raises FileError."""
    named = environment.get("VISUAL") or environment.get("EDITOR") or ""
    try:
        words = shlex.split(named)
    except ValueError:
        words = []
    if not words:
        raise FileError(f"“{named}” is no editor" if named else "no editor is named", CURE)
    return words


def edited(text: str, name: str, editor: list[str]) -> str:
    """The text as the editor leaves it; it runs in the terminal until it is closed.

    Raises FileError where it cannot be run, ends badly, or leaves what cannot be read.
    """
    with tempfile.TemporaryDirectory(prefix="alberti-") as folder:
        file = Path(folder, name)
        file.write_text(text, encoding="utf-8", newline="")
        try:
            with _interrupts_go_to_the_editor():
                done = subprocess.run([*editor, str(file)], check=False)  # noqa: S603 - the user names it
            if done.returncode:
                raise FileError(f"{editor[0]} ended with {done.returncode}", "nothing is changed")
            return file.read_text(encoding="utf-8")
        except OSError as error:
            raise FileError(f"{editor[0]} cannot be run ({error.strerror})", CURE) from None
        except UnicodeDecodeError:
            raise FileError("what was written is no UTF-8", "nothing is changed") from None


@contextmanager
def _interrupts_go_to_the_editor() -> Iterator[None]:
    """Ctrl+C reaches every program of the terminal: the editor takes it, the workshop stays."""
    if current_thread() is not main_thread():
        yield
        return
    before = signal(SIGINT, lambda *_: None)  # an ignored one would be ignored in the editor too
    try:
        yield
    finally:
        signal(SIGINT, before)


def edited_in(work: Work, text: str, aside: Callable[[], AbstractContextManager[None]]) -> Work:
    """The work after the user's editor had its text, the screen put `aside`; or why it had not."""
    wrong: AlbertiError | None = None
    try:
        editor = editor_of()
        with aside():
            try:
                found = edited(text, Path(work.path).name or "song.toml", editor)
            except AlbertiError as error:  # the screen comes back only where nothing is raised
                wrong = error
    except SuspendNotSupported:
        return refuse(work, "This terminal cannot make room for an editor")
    except AlbertiError as error:
        wrong = error
    return text_edit.taken(work, text, found) if wrong is None else refuse(work, str(wrong))
