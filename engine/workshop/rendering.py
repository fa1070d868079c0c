"""The line that asks for a file: its name, and what of the song goes into it."""

from __future__ import annotations

import re
from dataclasses import replace

from engine.errors import InputError
from engine.workshop.effects import Render, StopWriting
from engine.workshop.work import Outcome, Work, Writing, say

_NAMED = re.compile(
    r"(?P<path>.*?\.(?:wav|flac|ogg|mid|musicxml|mxl|svg|png|pdf))(?P<words>\s.*)?", re.IGNORECASE
)
_CURE = "write left, right, 60, 5-8, click or count-in"
#: Endings of what is engraved: no click sounds there.
_PAPER = (".musicxml", ".mxl", ".svg", ".png", ".pdf")


def asked_for(work: Work, text: str) -> Outcome:
    """The file that was typed, like `song.wav left 60 count-in`. Raises InputError."""
    if work.writing is not None:
        raise InputError(f"{work.writing.name} is still being written", "Esc stops it")
    found = _NAMED.fullmatch(text.strip())
    path, words = (found["path"], found["words"] or "") if found else (text, "")
    options: dict[str, tuple[str, tuple[str, ...]]] = {}
    for word in words.split():
        option = _option(word)
        if option[0] in ("--click", "--count-in") and path.lower().endswith(_PAPER):
            raise InputError(f"“{word}” cannot be put on paper", "leave it out")
        if option[0] in options:
            other = options[option[0]][0]
            raise InputError(f"“{other}” and “{word}” say the same thing twice", "leave one out")
        options[option[0]] = word, option
    how = tuple(part for _, option in options.values() for part in option)
    return Outcome(replace(work, writing=Writing(path)), (Render(path, how),))


def stopped(work: Work) -> Outcome:
    """The file given up that is being written."""
    name = work.writing.name if work.writing else ""
    return Outcome(say(replace(work, writing=None), f"Stopped: {name} is not written"),
                   (StopWriting(),))  # fmt: skip


def _option(word: str) -> tuple[str, ...]:
    """The options of `alberti render` that a word stands for. Raises InputError."""
    plain = word.lower().strip(",")
    if plain in ("left", "right", "both"):
        return ("--hands", plain)
    if plain in ("click", "count-in"):
        return (f"--{plain}",)
    if re.fullmatch(r"\d+(\.\d+)?", plain):
        return ("--tempo", plain)
    if re.fullmatch(r"\d+[-–]\d+", plain):
        return ("--bars", plain.replace("–", "-"))
    raise InputError(f"“{word}” says nothing", _CURE)
