"""Commands that write chords, melody and bars."""

from __future__ import annotations

from engine.workshop import (
    About,
    Extent,
    ListKind,
    Pane,
    Work,
    edits,
    moves,
    practice,
    reharmonise,
    typing,
)
from tui.commands.command import Command, open_list, setting


def _chord_letter(letter: str) -> Command:
    return Command(
        f"chord-{letter.lower()}",
        f"Write a chord on {letter}" if letter != "N" else "Write N.C., no chord",
        (letter,),
        lambda work: typing.begin_chord(work, letter),
        "Chords",
        (Pane.CHART,),
        hint="chord" if letter == "A" else "",
    )


def _needs_second(work: Work) -> str:
    if len(work.bar.slots) > 1:
        return ""
    return "This is the bar's only chord: d takes the bar out"


def _needs_melody(work: Work) -> str:
    if any(section.melody for section in work.song.sections):
        return ""
    return "The song has no melody: U writes one for this bar"


def _needs_clip(work: Work) -> str:
    return "" if work.clip else "Nothing to put in: y copies bars, d takes them out"


def _begin_section(work: Work) -> Work:
    letters = len(work.song.sections)
    return edits.begin_section(work, chr(65 + letters) if letters < 26 else str(letters + 1))


def rows() -> tuple[Command, ...]:
    """In the order that help and palette show them."""
    chart = (Pane.CHART,)
    return (
        *(_chord_letter(letter) for letter in "ABCDEFGN"),
        Command("edit-chord", "Edit this chord as it is written", ("enter",), typing.edit_chord,
                "Chords", chart, hint="edit"),
        Command("edit-bar", "Edit the whole bar as text", ("i",), typing.edit_bar, "Chords",
                hint="bar"),
        Command("divide", "Divide this chord in two", (".",), edits.split_slot, "Chords"),
        Command("join", "Take this chord out; the one before takes its time", ("x", "delete"),
                edits.join_slot, "Chords", reason=_needs_second),
        Command("repeat", "Repeat the bar before (%)", ("%",), edits.repeat_bar, "Chords"),
        Command("open", "Leave this chord open", (), edits.open_slot, "Chords"),
        Command("no-chord", "No chord here (N.C.)", (), edits.silence_slot, "Chords"),
        Command("others", "Other chords for this place, or ways for the bars selected", ("o",),
                reharmonise.open_chords, "Chords", hint="other chords"),
        Command("others-bar", "Other chords for the whole bar", (),
                lambda work: reharmonise.open_chords(work, About.BAR), "Chords"),
        Command("why-not", "What speaks against this chord", ("Y",), reharmonise.why_not,
                "Chords"),
        Command("song-moves", "The whole song another way: ways to try out", ("*",),
                open_list(ListKind.MOVES), "Chords"),
        *(Command(f"song-{name}", title, (), reharmonise.move(name), "Chords")
          for name, title in reharmonise.MOVES),
        Command("melody", "Edit the melody of this bar or the selection, in ABC", ("U",),
                typing.edit_melody, "Melody", hint="melody"),
        Command("melody-sounds", "Melody on or off", ("Q",), practice.melody, "Melody",
                reason=_needs_melody),
        Command("verse", "The next verse of the words", ("Z",), practice.next_verse, "Melody",
                reason=_needs_melody),
        setting("melody", "All the melody of this section, in ABC", Extent.SECTION,
                 group="Melody"),
        Command("select", "Select bars from here; again: give up", ("v",), moves.select, "Bars"),
        Command("select-section", "Select the whole section", ("V",), moves.select_section,
                "Bars"),
        Command("new-bar", "A new bar after this one", ("n",), edits.new_bar, "Bars"),
        Command("delete", "Take out this bar or the selection", ("d",), edits.take_out, "Bars"),
        Command("copy", "Copy this bar or the selection", ("y",), edits.copy, "Bars"),
        Command("paste", "Put in the copied bars after this one", ("p",), edits.paste, "Bars",
                reason=_needs_clip),
        Command("section", "Begin a section at this bar", (), _begin_section, "Bars"),
        Command("intro", "Begin the song with an introduction", (), edits.begin_with_intro, "Bars"),
    )  # fmt: skip
