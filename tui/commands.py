"""The one table of commands: each with its name, keys, panes, reason for refusal and function.

Bindings, footer, palette, help and the key documentation are all read from
here. A function takes the work and gives the next work, or an `Outcome` where
something outside must happen.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache, partial

from engine.song import Hand
from engine.workshop import (
    About,
    AskPrograms,
    Chooser,
    EntryKind,
    Extent,
    ListKind,
    Outcome,
    Pane,
    Quit,
    Save,
    ShowPages,
    Theme,
    Work,
    dials,
    edits,
    history,
    laddering,
    loop_text,
    moves,
    part_of,
    practice,
    reharmonise,
    say,
    sitting,
    steering,
    stepping,
    text_edit,
    typing,
)

Function = Callable[[Work], "Work | Outcome"]
Reason = Callable[[Work], str]


def always(_: Work) -> str:
    """Never refused."""
    return ""


@dataclass(frozen=True, slots=True)
class Command:
    """One thing the workshop does.

    `name` is a stable word for key files, `title` what people read; `keys` are
    characters as typed or names (`space`, `ctrl+s`, `f2`); `panes` is empty
    for all panes; `reason` says why it is refused, empty where it is not;
    `hint` is its word in the footer, empty for none, shown only while `hinted`.
    """

    name: str
    title: str
    keys: tuple[str, ...]
    run: Function
    group: str
    panes: tuple[Pane, ...] = ()
    reason: Reason = always
    hint: str = ""
    hinted: Callable[[Work], bool] = lambda _: True

    def works_in(self, pane: Pane) -> bool:
        return not self.panes or pane in self.panes


def _open_list(kind: ListKind, hand: Hand = Hand.RIGHT, extent: Extent = Extent.BAR) -> Function:
    def run(work: Work) -> Work:
        held = replace(work, hand=hand) if kind is ListKind.FIGURES else work
        return replace(held, chooser=Chooser(kind, hand=hand, extent=extent))

    return run


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


def _setting(name: str, title: str, extent: Extent, group: str = "Song") -> Command:
    where = {Extent.SONG: "song", Extent.SECTION: "section", Extent.BAR: "bar"}[extent]
    return Command(
        f"{where}-{name}",
        title,
        (),
        lambda work: typing.edit_setting(work, name, extent),
        group,
    )


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


def _render(work: Work) -> Work:
    stem = work.path.removesuffix(".toml") or "song"
    return typing.begin(work, EntryKind.RENDER, f"{stem}.wav")


def _shape_move(step: int) -> Function:
    def run(work: Work) -> Work:
        return steering.next_shape(work, part_of(work.song), step)

    return run


def _edit_tokens(work: Work) -> Work:
    return typing.edit_tokens(work, work.hand)


def _keep_figure(work: Work) -> Work:
    return typing.begin(work, EntryKind.FIGURE_NAME, hand=work.hand)


def _other_hand(work: Work) -> Work:
    hand = Hand.LEFT if work.hand is Hand.RIGHT else Hand.RIGHT
    return replace(work, hand=hand)


def _lines(count: int) -> Function:
    return lambda work: moves.by_lines(work, count)


def _steer(name: str, step: float) -> Function:
    return lambda work: steering.steer(work, name, step * steering.AMOUNT_STEP)


def _needs_loop(work: Work) -> str:
    return "" if work.loop else "This needs a loop: l loops this bar"


def _needs_ladder_loop(work: Work) -> str:
    return "" if work.loop else laddering.NO_LOOP


def _needs_melody(work: Work) -> str:
    if any(section.melody for section in work.song.sections):
        return ""
    return "The song has no melody: U writes one for this bar"


def _needs_past(work: Work) -> str:
    return "" if work.past else "Nothing to undo: this is the song as it was opened"


def _needs_future(work: Work) -> str:
    return "" if work.future else "Nothing to redo"


def _needs_clip(work: Work) -> str:
    return "" if work.clip else "Nothing to put in: y copies bars, d takes them out"


def _needs_own_figure(work: Work) -> str:
    own = work.bar.own.settings
    return "" if own.right or own.left else "This bar has no figure of its own"


def _needs_second(work: Work) -> str:
    if len(work.bar.slots) > 1:
        return ""
    return "This is the bar's only chord: d takes the bar out"


def _looping(work: Work) -> bool:
    return work.loop is not None


def _not_looping(work: Work) -> bool:
    return work.loop is None


def _on_ladder(work: Work) -> bool:
    return work.ladder is not None


def _no_ladder(work: Work) -> bool:
    return work.ladder is None


@lru_cache(maxsize=1)
def table() -> tuple[Command, ...]:
    """Every command, in the order that help and palette show them."""
    chart, chord, figure = (Pane.CHART,), (Pane.CHORD,), (Pane.FIGURE,)
    figures = ListKind.FIGURES
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
        # Chords
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
                _open_list(ListKind.MOVES), "Chords"),
        *(Command(f"song-{name}", title, (), reharmonise.move(move), "Chords")
          for move, name, title in reharmonise.MOVES),
        # Melody
        Command("melody", "Edit the melody of this bar or the selection, in ABC", ("U",),
                typing.edit_melody, "Melody", hint="melody"),
        Command("melody-sounds", "Melody on or off", ("Q",), practice.melody, "Melody",
                reason=_needs_melody),
        _setting("melody", "All the melody of this section, in ABC", Extent.SECTION,
                 group="Melody"),
        # Bars
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
        # Figures
        Command("right-figure", "Choose the right hand's figure", ("f",),
                _open_list(figures, Hand.RIGHT), "Figures", hint="right figure"),
        Command("left-figure", "Choose the left hand's figure", ("g",),
                _open_list(figures, Hand.LEFT), "Figures", hint="left figure"),
        Command("tokens", "Edit this bar's figure for the hand marked", ("e",), _edit_tokens,
                "Figures", (Pane.CHART, Pane.CHORD)),
        Command("tokens-here", "Edit the figure on the line marked", ("enter", "e"),
                _edit_tokens, "Figures", figure, hint="edit figure"),
        Command("other-hand", "The other hand's line", ("up", "down"), _other_hand, "Figures",
                figure),
        Command("own-away", "Follow the section's figures again", ("z",), steering.own_figure_away,
                "Figures", reason=_needs_own_figure),
        Command("keep-figure", "Keep this bar's figure, for the hand marked, by a name", (),
                _keep_figure, "Figures"),
        Command("busier", "Busier", ("b",), _steer("busy", 1), "Figures", hint="busier"),
        Command("calmer", "Calmer", ("c",), _steer("busy", -1), "Figures", hint="calmer"),
        Command("further-out", "Further out: more notes outside the chord", (">",),
                _steer("outside", 1), "Figures"),
        Command("closer-in", "Closer in: fewer notes outside the chord", ("<",),
                _steer("outside", -1), "Figures"),
        Command("more-doubling", "More doubling", (), _steer("doubling", 1), "Figures"),
        Command("less-doubling", "Less doubling", (), _steer("doubling", -1), "Figures"),
        Command("more-anticipation", "More anticipation", (), _steer("anticipation", 1),
                "Figures"),
        Command("less-anticipation", "Less anticipation", (), _steer("anticipation", -1),
                "Figures"),
        Command("take", "Another take", ("a",), steering.another_take, "Figures",
                hint="another take"),
        Command("take-before", "The take before", (), lambda work: steering.another_take(work, -1),
                "Figures"),
        Command("keep", "Keep this bar as it is, or let it go", ("k",),
                lambda work: steering.keep(work, part_of(work.song)), "Figures", hint="keep"),
        Command("next-shape", "Pin the next shape up", ("up",), _shape_move(1), "Figures", chord,
                hint="shape"),
        Command("previous-shape", "Pin the next shape down", ("down",), _shape_move(-1),
                "Figures", chord),
        Command("free-shape", "Let the pinned shape go", ("backspace",),
                lambda work: steering.pin_shape(work, None), "Figures", chord),
        # Moving
        Command("left", "The chord before", ("left",), moves.previous_slot, "Moving"),
        Command("right", "The next chord", ("right",), moves.next_slot, "Moving"),
        Command("up", "A line up", ("up",), _lines(-1), "Moving", chart),
        Command("down", "A line down", ("down",), _lines(1), "Moving", chart),
        Command("page-up", "Four lines up", ("pageup",), _lines(-4), "Moving"),
        Command("page-down", "Four lines down", ("pagedown",), _lines(4), "Moving"),
        Command("first", "The first bar", ("home",), moves.first_bar, "Moving"),
        Command("last", "The last bar", ("end",), moves.last_bar, "Moving"),
        Command("next-section", "The next section", ("}",), moves.next_section, "Moving"),
        Command("previous-section", "The section before", ("{",), moves.previous_section,
                "Moving"),
        Command("go-to", "Go to a bar by number", ("j",),
                lambda work: typing.begin(work, EntryKind.GO_TO), "Moving"),
        Command("next-pane", "The next pane", ("tab",), moves.next_pane, "Moving"),
        Command("previous-pane", "The pane before", ("shift+tab",), moves.previous_pane,
                "Moving"),
        Command("dismiss", "Put the caution away; give up the selection; leave step mode",
                ("escape",), practice.dismiss, "Moving"),
        # Song
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
        _setting("tempo", "Written tempo of the song", Extent.SONG),
        _setting("meter", "Meter of the song", Extent.SONG),
        _setting("key", "Key of the song, its chords as they are", Extent.SONG),
        _setting("title", "Title", Extent.SONG),
        _setting("reach", "Reach: octave, ninth, tenth or semitones", Extent.SONG),
        _setting("name", "Name of this section", Extent.SECTION),
        _setting("key", "Key of this section, its chords as they are", Extent.SECTION),
        _setting("tempo", "Tempo of this section", Extent.SECTION),
        _setting("arc", "Arc of this section, like p < mf > p", Extent.SECTION),
        Command("peak", "Peak of this section at this bar; again: where it falls by itself", (),
                steering.peak_here, "Song"),
        _setting("register", "Register of the right hand here: low, middle or high",
                 Extent.SECTION),
        _setting("busy", "How busy this section is, 0 to 1", Extent.SECTION),
        _setting("outside", "How far outside this section goes, 0 to 1", Extent.SECTION),
        _setting("doubling", "Doubling in this section, 0 to 1", Extent.SECTION),
        _setting("anticipation", "Anticipation in this section, 0 to 1", Extent.SECTION),
        Command("theme", "The next theme of colours", (), lambda work: Outcome(work, (Theme(),)),
                "Song"),
        Command("palette", "Every command by name", (":", "ctrl+p"),
                _open_list(ListKind.PALETTE), "Song", hint="commands"),
        Command("keys", "The keys of this pane", ("?", "h", "f2"), _open_list(ListKind.KEYS),
                "Song", hint="keys"),
        Command("quit", "Quit", ("q", "ctrl+q", "ctrl+c"), _quit, "Song", hint="quit"),
    )  # fmt: skip


def _begin_section(work: Work) -> Work:
    letters = len(work.song.sections)
    return edits.begin_section(work, chr(65 + letters) if letters < 26 else str(letters + 1))


@lru_cache(maxsize=1)
def by_name() -> dict[str, Command]:
    return {command.name: command for command in table()}


@dataclass(frozen=True, slots=True)
class Keymap:
    """Which keys do what: those of the table, changed by the user's own file."""

    keys: tuple[tuple[str, tuple[str, ...]], ...] = ()

    def keys_of(self, command: Command) -> tuple[str, ...]:
        """The keys of a command, the user's in place of ours."""
        return dict(self.keys).get(command.name, command.keys)

    def find(self, pane: Pane, key: str) -> Command | None:
        """The command of a key in a pane; one of that pane before one of all panes."""
        return _bound(self).get((pane, key))


@lru_cache(maxsize=8)
def _bound(keymap: Keymap) -> dict[tuple[Pane, str], Command]:
    bound: dict[tuple[Pane, str], Command] = {}
    for command in sorted(table(), key=lambda command: bool(command.panes)):
        for key in keymap.keys_of(command):
            for pane in Pane:
                if command.works_in(pane):
                    bound[pane, key] = command
    return bound


#: How keys are written for people.
SHOWN = {
    "space": "Space", "enter": "Enter", "tab": "Tab", "shift+tab": "Shift+Tab",
    "escape": "Esc", "up": "↑", "down": "↓", "left": "←", "right": "→", "pageup": "PgUp",
    "pagedown": "PgDn", "home": "Home", "end": "End", "backspace": "Backspace",
    "delete": "Del",
}  # fmt: skip


def key_text(key: str) -> str:
    """A key as people read it: `Space`, `Ctrl+S`, `F2`, `+`."""
    if key in SHOWN:
        return SHOWN[key]
    if key.startswith("ctrl+"):
        return f"Ctrl+{key[5:].upper()}"
    return key.upper() if len(key) > 1 and key[0] == "f" else key


def hints(work: Work, keymap: Keymap) -> tuple[tuple[str, str], ...]:
    """The footer: (key, word) of what works here and now, this pane's own first."""
    own = [command for command in table() if command.panes and command.works_in(work.pane)]
    rest = [command for command in table() if not command.panes]
    shown: list[tuple[str, str]] = []
    for command in (*own, *rest):
        keys = keymap.keys_of(command)
        if command.hint and keys and not command.reason(work) and command.hinted(work):
            word = "stop" if command.name == "play" and work.playing else command.hint
            key = "A–G" if command.name == "chord-a" else key_text(keys[0])
            shown.append(("+ -" if command.name == "slower" else key, word))
    return tuple(shown)
