"""Lists to choose from: commands, keys, figures, chords, dials, the plan; what each line does."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from engine.errors import InputError
from engine.song import Song
from engine.workshop import (
    About,
    Chooser,
    Extent,
    Ideas,
    ListKind,
    Loop,
    Notice,
    Outcome,
    Work,
    differing_bars,
    practice,
    refuse,
    reharmonise,
    say,
    sitting,
    steering,
)
from engine.workshop.own_figures import own_figures
from tui import practice_lists
from tui.commands import Command, Keymap, key_text, table
from tui.item import Item, Run
from tui.offers import as_it_stands, ideas, keys_for, song_moves

if TYPE_CHECKING:
    from engine.figures import Figure

EXTENTS = tuple(Extent)
#: Lists that stand beside the chart, whose lines are tried out.
BESIDE = (ListKind.FIGURES, ListKind.CHORDS, ListKind.MOVES, ListKind.VOICE)
PAGE = 8
_BY_ARC = "as it stands: no figure is chosen, each bar has one by the arc and how busy it is"


def items(work: Work, keymap: Keymap) -> tuple[Item, ...]:
    """The lines of the open list, narrowed by what was typed."""
    chooser = work.chooser
    if chooser is None:
        return ()
    match chooser.kind:
        case ListKind.PALETTE:
            found = [
                _command(work, command, keymap)
                for command in table()
                if not command.name.startswith("chord-")
            ]
        case ListKind.KEYS:
            return _keys(work, keymap)
        case ListKind.FIGURES:
            written = getattr(work.bar.settings, chooser.hand.value)
            found = [as_it_stands(written) if written else as_it_stands("by the arc", _BY_ARC)]
            found += _own_figures(work, chooser)
            found += [_figure(chooser, figure, figure.name) for figure in _figures(work, chooser)]
        case ListKind.CHORDS:
            return ideas(work)
        case ListKind.MOVES:
            found = [as_it_stands("as it stands"), *song_moves()]
        case ListKind.VOICE:
            found = keys_for(work, chooser)
        case ListKind.DIALS:
            found = practice_lists.dial_items(work)
        case ListKind.PLAN:
            return practice_lists.plan_items(work)
    fits = [item for item in found if _matches(chooser.query, item)]
    if chooser.kind in (ListKind.PALETTE, ListKind.DIALS):
        fits.sort(key=lambda item: _place(chooser.query.lower().strip(), item.label.lower()))
    return tuple(fits)


def _place(typed: str, label: str) -> int:
    """How early a line comes: what was typed begins a word of it, is in one, or in pieces."""
    return 0 if f" {typed}" in f" {label}" else 1 if typed in label else 2


def _matches(query: str, item: Item) -> bool:
    """Whether every word typed begins a word of the line, or blanks left out, is in its label."""
    if query and query.lower() in "".join(item.label.lower().split()):
        return True
    words = f"{item.label} {item.detail} {item.keys}".lower().split()
    return all(
        any(word.startswith(part) or part in word for word in words)
        for part in query.lower().split()
    )


def _command(work: Work, command: Command, keymap: Keymap) -> Item:
    keys = " ".join(key_text(key) for key in keymap.keys_of(command))
    return Item(command.title, command.group, keys, command.reason(work), run=command.run)


def _keys(work: Work, keymap: Keymap) -> tuple[Item, ...]:
    """Headings, and under them what each key does in the pane under the hand."""
    lines: list[Item] = [Item(f"In the {work.pane} pane", heading=True)]
    own = [command for command in table() if command.panes and command.works_in(work.pane)]
    lines += _key_lines(own, keymap)
    group = ""
    for command in table():
        if command.panes or not keymap.keys_of(command):
            continue
        if command.group != group:
            group = command.group
            lines.append(Item(group, heading=True))
        lines += _key_lines([command], keymap)
    lines.append(Item("While typing", heading=True))
    lines += [
        Item("Take the line", keys="Enter"),
        Item("Leave it", keys="Esc"),
        Item("Take the nearest symbol that is offered", keys="Tab"),
        Item("The colon lists commands that have no key", keys=":"),
        Item("Signs in the chord pane", heading=True),
        Item("Behind a note of the chord: it is outside the key", keys="○"),
        Item("Before a note of the scale: it may be added", keys="+"),
        Item("Behind a note of the scale: it rubs with the chord", keys="!"),
        Item("From a note of this chord to one of the next", keys="→"),
    ]
    return tuple(lines)


def _key_lines(commands: list[Command], keymap: Keymap) -> list[Item]:
    lines = []
    for command in commands:
        if command.name.startswith("chord-") and command.name != "chord-a":
            continue
        keys = " ".join(key_text(key) for key in keymap.keys_of(command))
        if command.name == "chord-a":
            lines.append(Item("Write a chord (N: no chord)", keys="A–G N"))
        elif keys:
            lines.append(Item(command.title, keys=keys))
    return lines


def _figures(work: Work, chooser: Chooser) -> list[Figure]:
    """The hand's figures, those made for this meter first."""
    from engine.figures import catalogue

    meter = work.bar.meter
    own = [figure for figure in catalogue() if figure.hand is chooser.hand]
    return sorted(_others(work, chooser, own), key=lambda figure: figure.meter != meter)


def _others(work: Work, chooser: Chooser, figures: list[Figure]) -> list[Figure]:
    """The figures without the one that all bars chosen for have: the first line is that one."""
    first, last = sitting.bars_of(work, chooser.extent)
    bars = work.song.bars[first - 1 : last]
    written = {getattr(bar.settings, chooser.hand.value) for bar in bars}
    if len(written) > 1:
        return figures
    return [figure for figure in figures if written.isdisjoint((figure.name, figure.text))]


def _own_figures(work: Work, chooser: Chooser) -> list[Item]:
    """The writer's own figures: written into the song as tokens, so that it plays anywhere."""
    try:
        own = own_figures()
    except InputError as error:
        return [Item("Your own figures", refusal=error.message)]
    other = _others(work, chooser, [each for each in own if each.hand is chooser.hand])
    return [_figure(chooser, each, each.text) for each in other]


def _figure(chooser: Chooser, figure: Figure, text: str) -> Item:
    """A figure to choose, which writes `text`."""
    hand, extent = chooser.hand, chooser.extent

    def song(work: Work) -> Song:
        return steering.with_setting(work, work.song, extent, hand.value, text)

    def run(work: Work) -> Work:
        return steering.set_figure(work, hand, extent, text)

    meter = figure.meter.name if figure.meter else ""
    speed = f"tempo {figure.slowest}–{figure.fastest}" if figure.fastest else ""
    grade = f"difficulty {figure.difficulty}" if figure.difficulty else ""
    detail = "  ".join(part for part in (meter, figure.text, grade, speed) if part)
    return Item(figure.name, detail, song=song, run=run)


def picked(work: Work, keymap: Keymap) -> Item | None:
    """The line under the hand."""
    found = items(work, keymap)
    if work.chooser is None or not found:
        return None
    return found[min(work.chooser.index, len(found) - 1)]


def press(work: Work, key: str, character: str | None, keymap: Keymap) -> Outcome:
    """A key in an open list."""
    chooser = work.chooser
    assert chooser is not None
    count = len(items(work, keymap))
    steps = {"up": -1, "down": 1, "pageup": -PAGE, "pagedown": PAGE, "home": -count, "end": count}
    if key == "escape":
        return _closed(replace(work, notice=Notice()))
    if key in steps:
        index = min(max(0, min(chooser.index, count - 1) + steps[key]), max(0, count - 1))
        tried = _tried(replace(work, chooser=replace(chooser, index=index)), keymap)
        return auditioned(tried) if chooser.kind is ListKind.CHORDS else Outcome(tried)
    if key == "enter":
        return _chosen(work, keymap)
    if chooser.kind in (ListKind.DIALS, ListKind.PLAN) and key in ("left", "right", "tab", "space"):
        return practice_lists.press(work, key, picked(work, keymap))
    if key == "tab" and chooser.kind is ListKind.FIGURES:
        following = EXTENTS[(EXTENTS.index(chooser.extent) + 1) % len(EXTENTS)]
        return Outcome(_tried(replace(work, chooser=replace(chooser, extent=following)), keymap))
    if key == "space" and chooser.kind in BESIDE:
        return _heard(work)
    if key == "tab" and chooser.kind in BESIDE:
        return Outcome(_against(work, keymap))
    if chooser.kind is ListKind.CHORDS:
        name = character if character and character.isprintable() and key != "space" else key
        return _among_chords(work, chooser, name, keymap)
    if chooser.kind is ListKind.KEYS:
        return Outcome(replace(work, chooser=None))
    return Outcome(_narrowed(work, chooser, key, character, keymap))


def _among_chords(work: Work, chooser: Chooser, key: str, keymap: Keymap) -> Outcome:
    """The keys that only the list of other chords has."""
    if key in ("left", "right"):
        return reharmonise.turn_dial(work, 1 if key == "right" else -1)
    if key == "a":
        return _everywhere(work, keymap)
    if key == "o" and chooser.ask is not None:
        if chooser.ask.about is About.BARS:
            return Outcome(refuse(work, "These are ways for all the bars selected"))
        if len(work.bar.slots) == 1:
            return Outcome(refuse(work, "This chord is the whole bar"))
        other = About.CHORD if chooser.ask.about is About.BAR else About.BAR
        return reharmonise.open_chords(work, other)
    return Outcome(refuse(work, f"{key_text(key)} does nothing in this list"))


def _narrowed(
    work: Work, chooser: Chooser, key: str, character: str | None, keymap: Keymap
) -> Work:
    query = chooser.query
    if key == "backspace":
        query = query[:-1]
    elif key == "ctrl+u":
        query = ""
    elif character and character.isprintable():
        query += character
    if query == chooser.query or chooser.kind in (ListKind.CHORDS, ListKind.PLAN):
        return work
    return _tried(replace(work, chooser=replace(chooser, query=query, index=0)), keymap)


def _tried(work: Work, keymap: Keymap) -> Work:
    """The work with the line under the hand tried out."""
    item = picked(work, keymap)
    if item is None or item.song is None:
        return replace(work, trial=None, notice=Notice())
    try:
        song = item.song(work)
    except InputError as error:
        return refuse(replace(work, trial=None), error.message)
    return replace(work, trial=None if song == work.song else song, notice=Notice())


def found(work: Work, ideas: Ideas, keymap: Keymap) -> Outcome:
    """What was looked for is there; a line that the hand is on already is tried out."""
    known = reharmonise.take_ideas(work, ideas)
    chooser = known.chooser
    if known.ideas is not ideas or chooser is None or chooser.index == 0:
        return Outcome(known)
    return auditioned(_tried(known, keymap))


def auditioned(work: Work) -> Outcome:
    """What is tried out is heard: a loop around it begins, unless what plays comes by there.

    A loop elsewhere is put aside until the list is closed.
    """
    chooser = work.chooser
    if chooser is None or chooser.silent or work.trial is None:
        return Outcome(work)
    first, last = _tried_bars(work, chooser)
    old, one_place = work.loop, chooser.kind in (ListKind.CHORDS, ListKind.FIGURES)
    elsewhere = one_place and old is not None and not old.first <= first <= last <= old.last
    if work.playing and not elsewhere:
        return Outcome(work)
    began = chooser.began or not work.playing
    if old is None or elsewhere:
        around = Loop(max(1, first - 1), min(len(work.song.bars), last + 1))
        work = replace(work, loop=around)
        chooser = replace(chooser, looped=True, aside=chooser.aside or old)
    begun = replace(work, chooser=replace(chooser, began=began))
    return practice.play_from_start(begun)


def _tried_bars(work: Work, chooser: Chooser) -> tuple[int, int]:
    """The bars in which what is tried out is to be heard."""
    if chooser.ask is not None and chooser.ask.about is About.BARS:
        return chooser.ask.bar, chooser.ask.last
    if chooser.kind is ListKind.MOVES and work.trial is not None:
        first = min(differing_bars(work.song, work.trial), default=work.cursor.bar)
        return first, first + 1
    return work.cursor.bar, work.cursor.bar


def _heard(work: Work) -> Outcome:
    """Stop what plays, and leave it silent while the list is open; or play again."""
    chooser = work.chooser
    assert chooser is not None
    if work.playing:
        return practice.play_or_stop(replace(work, chooser=replace(chooser, silent=True)))
    loud = replace(work, chooser=replace(chooser, silent=False))
    begun = auditioned(loud)
    return begun if begun.effects else practice.play_or_stop(loud)


def _closed(work: Work) -> Outcome:
    """The list put away, and with it the playing and the loop that it began."""
    chooser = work.chooser
    closed = replace(work, chooser=None, trial=None)
    if chooser is None:
        return Outcome(closed)
    if chooser.looped:
        closed = replace(closed, loop=chooser.aside)
    if chooser.began and closed.playing:
        return practice.play_or_stop(closed)
    return Outcome(closed)


def _against(work: Work, keymap: Keymap) -> Work:
    """A against B: what stands there, or again what is tried out."""
    if work.trial is None:
        return _tried(work, keymap)
    return say(replace(work, trial=None), "As it stands; Tab: as tried out")


def _everywhere(work: Work, keymap: Keymap) -> Outcome:
    """Take the line under the hand at every place like this one."""
    item = picked(work, keymap)
    if item is None or item.everywhere is None:
        return Outcome(refuse(work, "This line is for one place only"))
    return _taken(work, item.everywhere)


def _chosen(work: Work, keymap: Keymap) -> Outcome:
    item = picked(work, keymap)
    if item is None or item.heading:
        return Outcome(refuse(work, "Nothing in the list fits what was typed"))
    if item.refusal:
        return Outcome(refuse(work, item.refusal))
    return _taken(work, item.run, stays=item.stays)


def _taken(work: Work, run: Run | None, *, stays: bool = False) -> Outcome:
    """The list closed (unless it stays) and a line's deed done; where that fails, the reason."""
    calm = replace(work, notice=Notice())
    closed, stop = Outcome(calm) if stays and run is not None else _closed(calm)
    if run is None:
        return Outcome(closed, stop)
    try:
        result = run(closed)
    except InputError as error:
        return Outcome(refuse(closed, error.message), stop)
    after = result if isinstance(result, Outcome) else Outcome(result)
    return Outcome(after.work, (*stop, *after.effects))
