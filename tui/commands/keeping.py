"""Commands for the song as a whole: undo, files, its settings, and the workshop itself."""

from __future__ import annotations

from dataclasses import replace

from engine.workshop import (
    EntryKind,
    Extent,
    ListKind,
    Outcome,
    Quit,
    Save,
    ShowPages,
    Theme,
    Work,
    history,
    say,
    steering,
    text_edit,
    typing,
)
from tui.commands.command import Command, open_list, setting


def _save(work: Work) -> Work | Outcome:
    if not work.path and not work.overwrite:
        return _save_as(work)
    return Outcome(work, (Save(work.overwrite or work.path, bool(work.overwrite)),))


def _save_as(work: Work) -> Work:
    return typing.begin(work, EntryKind.SAVE_AS, work.path)


def _quit(work: Work) -> Work | Outcome:
    if work.unread and not work.leaving:
        warned = replace(work, leaving=True)
        return say(warned, "Your text is not read yet: X opens it; q once more leaves without it")
    if work.edited and not work.leaving:
        warned = replace(work, leaving=True)
        return say(warned, "Not saved yet: s saves; q once more leaves without saving")
    return Outcome(work, (Quit(),))


def _render(work: Work) -> Work:
    stem = work.path.removesuffix(".toml") or "song"
    return typing.begin(work, EntryKind.RENDER, f"{stem}.wav")


def _needs_past(work: Work) -> str:
    return "" if work.past else "Nothing to undo: this is the song as it was opened"


def _needs_future(work: Work) -> str:
    return "" if work.future else "Nothing to redo"


def rows() -> tuple[Command, ...]:
    """In the order that help and palette show them."""
    return (
        Command("undo", "Undo", ("u", "ctrl+z"), history.undo, "Song", reason=_needs_past,
                hint="undo"),
        Command("redo", "Redo", ("r", "ctrl+y"), history.redo, "Song", reason=_needs_future),
        Command("save", "Save", ("s", "ctrl+s"), _save, "Song", hint="save"),
        Command("edit-text", "Edit the song's text in your own editor", ("X",),
                text_edit.edit_text, "Song"),
        Command("save-as", "Save as", ("S",), _save_as, "Song"),
        Command("render", "Write a file by its name's ending: audio, MIDI, score, sheet", ("R",),
                _render, "Song"),
        Command("pages", "Show the score's pages as pictures", ("O",),
                lambda work: Outcome(say(work, "Engraving …"), (ShowPages(),)), "Song"),
        Command("transpose", "Transpose: type a key, an interval or a voice's range", ("T",),
                lambda work: typing.begin(work, EntryKind.TRANSPOSE), "Song"),
        setting("tempo", "Written tempo of the song", Extent.SONG),
        setting("meter", "Meter of the song", Extent.SONG),
        setting("key", "Key of the song, its chords as they are", Extent.SONG),
        setting("title", "Title", Extent.SONG),
        setting("reach", "Reach: octave, ninth, tenth or semitones", Extent.SONG),
        setting("name", "Name of this section", Extent.SECTION),
        setting("key", "Key of this section, its chords as they are", Extent.SECTION),
        setting("tempo", "Tempo of this section", Extent.SECTION),
        setting("arc", "Arc of this section, like p < mf > p", Extent.SECTION),
        Command("peak", "Peak of this section at this bar; again: where it falls by itself", (),
                steering.peak_here, "Song"),
        setting("register", "Register of the right hand here: low, middle or high",
                 Extent.SECTION),
        setting("busy", "How busy this section is, 0 to 1", Extent.SECTION),
        setting("outside", "How far outside this section goes, 0 to 1", Extent.SECTION),
        setting("doubling", "Doubling in this section, 0 to 1", Extent.SECTION),
        setting("anticipation", "Anticipation in this section, 0 to 1", Extent.SECTION),
        Command("theme", "The next theme of colours", (), lambda work: Outcome(work, (Theme(),)),
                "Song"),
        Command("palette", "Every command by name", (":", "ctrl+p"),
                open_list(ListKind.PALETTE), "Song", hint="commands"),
        Command("keys", "The keys of this pane", ("?", "h", "f2"), open_list(ListKind.KEYS),
                "Song", hint="keys"),
        Command("quit", "Quit", ("q", "ctrl+q", "ctrl+c"), _quit, "Song", hint="quit"),
    )  # fmt: skip
