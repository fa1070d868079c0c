"""The song's text in the user's own editor: handed out and read again, nothing of it lost."""

from __future__ import annotations

from dataclasses import replace

from engine.errors import AlbertiError
from engine.song import read_song
from engine.workshop.effects import EditText
from engine.workshop.files import text_of
from engine.workshop.history import change
from engine.workshop.work import Notice, Outcome, Tone, Work, say


def edit_text(work: Work) -> Outcome:
    """Open the song's text, or what could not be read of it last time."""
    return Outcome(work, (EditText(work.unread or text_of(work)),))


def taken(work: Work, given: str, text: str) -> Work:
    """The work after the editor gave `text` back for what it was `given`.

    Undo takes the song back. What cannot be read is kept, its fault placed, and opened again
    next time; an emptied text gives it up.
    """
    if not text.strip():
        return say(replace(work, unread=""), "The text was emptied: nothing is changed")
    if text == given and not work.unread:
        return say(work, "The text is as it was")
    try:
        song = read_song(text)
    except AlbertiError as error:
        place = error.place
        where = f"Line {place.line}, column {place.column}: " if place else ""
        said = f"{where}{error.message}; X opens your text again"
        return replace(work, unread=text, notice=Notice(said, Tone.TROUBLE))
    edited = replace(work, draft=text, unread="")
    if song == work.song:
        return say(edited, "The song is the same; its remarks are kept")
    return change(edited, song, "The song as edited")
