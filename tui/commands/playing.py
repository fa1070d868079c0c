"""Commands that play and practise."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from engine.workshop import (
    AskPrograms,
    Chooser,
    EntryKind,
    Extent,
    ListKind,
    Outcome,
    Work,
    dials,
    laddering,
    loop_text,
    part_of,
    practice,
    sitting,
    stepping,
    typing,
)
from tui.commands.command import Command


def _steps(work: Work) -> Outcome:
    return stepping.begin_steps(work, part_of(work.song))


def _plan(work: Work) -> Work:
    """The plan as it was left, or a new one: for the selection, else for this section."""
    extent = Extent.SECTION if work.anchor is None else Extent.BAR
    if work.sitting is None or work.anchor is not None:
        minutes = work.preferences.minutes
        work = sitting.planned(work, part_of(work.song), extent, minutes)
    assert work.sitting is not None
    return replace(work, chooser=Chooser(ListKind.PLAN, work.sitting.next))


def _dials(work: Work) -> Outcome:
    return Outcome(replace(work, chooser=Chooser(ListKind.DIALS)), (AskPrograms(),))


def _loop_line(work: Work) -> Work:
    text = loop_text(work.loop, work.song).partition(" →")[0] if work.loop else ""
    return typing.begin(work, EntryKind.LOOP, text or str(work.cursor.bar))


def _dial_commands() -> tuple[Command, ...]:
    """A command for each dial that is typed and has no command of its own."""
    return tuple(
        Command(
            f"set-{each.name.replace('_', '-')}",
            each.title,
            (),
            partial(typing.edit_dial, which=each),
            "Play and practise",
        )
        for each in dials()
        if each.take is not None and each.name != "tempo"
    )


def _tempo(work: Work) -> Work:
    return typing.begin(work, EntryKind.TEMPO, f"{work.now_tempo:g}")


def _needs_loop(work: Work) -> str:
    return "" if work.loop else "This needs a loop: l loops this bar"


def _needs_ladder_loop(work: Work) -> str:
    return "" if work.loop else laddering.NO_LOOP


def _looping(work: Work) -> bool:
    return work.loop is not None


def _not_looping(work: Work) -> bool:
    return work.loop is None


def _on_ladder(work: Work) -> bool:
    return work.ladder is not None


def _no_ladder(work: Work) -> bool:
    return work.ladder is None


def rows() -> tuple[Command, ...]:
    """In the order that help and palette show them."""
    play = "Play and practise"
    return (
        Command("play", "Play from the cursor, or stop", ("space",), practice.play_or_stop, play,
                hint="play"),
        Command("play-start", "Play from the beginning, or from the loop's", ("\\",),
                practice.play_from_start, play),
        Command("loop", "Loop this bar or the selection; again: loop off", ("l",), practice.loop,
                play, hint="loop"),
        Command("loop-from", "The loop begins at this chord", ("(",), practice.loop_from_here,
                play),
        Command("loop-to", "The loop ends with this chord", (")",), practice.loop_to_here, play),
        Command("loop-typed", "Type the loop: 7-8, or from beat to beat, 7.3-8.2", (";",),
                _loop_line, play),
        Command("link", "Link: the loop ends on the first note of the next bar", ("&",),
                practice.link, play, reason=_needs_loop),
        Command("faster", "Tempo up by four", ("+",), practice.faster, play),
        Command("slower", "Tempo down by four", ("-",), practice.slower, play, hint="tempo"),
        Command("tempo", "Type a playing tempo", ("t",), _tempo, play),
        Command("tap", "Tap the tempo", (",",), practice.tap, play),
        Command("written-tempo", "Tempo as written", ("=",), practice.written_tempo, play),
        Command("hands", "Hands apart: right alone, left alone, both", ("H",), practice.hands,
                play, hint="hands", hinted=_looping),
        Command("click", "Click on or off", ("m",), practice.click, play),
        Command("count-in", "Count-in on or off", ("M",), practice.count_in, play),
        Command("ladder", "Tempo ladder on the loop: begin or end", ("L",), laddering.ladder,
                play, reason=_needs_ladder_loop, hint="ladder", hinted=_no_ladder),
        Command("clean", "Mark a pass clean", ("1",), laddering.clean_pass, play,
                reason=_needs_ladder_loop, hint="clean", hinted=_on_ladder),
        Command("slip", "Mark a slip", ("0",), laddering.slip, play, reason=_needs_ladder_loop,
                hint="slip", hinted=_on_ladder),
        Command("plan", "Practice plan: blocks to walk through", ("W",), _plan, play,
                hint="plan", hinted=_not_looping),
        Command("steps", "Step mode: one group of notes at a time", ("w",), _steps, play),
        Command("held-chord", "Write the chord held on the MIDI keyboard", ("I",),
                stepping.write_held, play),
        Command("higher", "Heard a semitone higher; the song stays", ("K",), practice.higher,
                play),
        Command("lower", "Heard a semitone lower; the song stays", ("J",), practice.lower, play),
        Command("dials", "Sound and practice: everything that can be set", ("P",),
                _dials, play, hint="sound", hinted=_looping),
        Command("listen", "Listen to the MIDI keyboard", (), practice.listen, play),
        Command("panic", "Silence everything", ("!",), practice.panic, play),
        *_dial_commands(),
    )  # fmt: skip
