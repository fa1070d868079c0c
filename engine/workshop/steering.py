"""Steering the part from where the hand stands: figures, amounts, takes, shapes, settings."""

from __future__ import annotations

from engine.part import Part
from engine.pitch import Interval
from engine.song import (
    SONG,
    Hand,
    Scope,
    Song,
    in_lines,
    on_one_line,
    set_bar_option,
    set_setting,
)
from engine.workshop.edits import attempt
from engine.workshop.history import change
from engine.workshop.practice import shown
from engine.workshop.work import Extent, Work, refuse

AMOUNT_STEP = 0.1
AMOUNTS = ("busy", "outside", "doubling", "anticipation")


def scope_of(work: Work, extent: Extent) -> Scope:
    """The song's own word for how far a choice reaches, from where the cursor stands."""
    if extent is Extent.SONG:
        return SONG
    if extent is Extent.SECTION:
        return Scope(section=work.bar.section)
    return Scope(bar=work.cursor.bar)


def with_setting(work: Work, song: Song, extent: Extent, name: str, value: object) -> Song:
    """The song with a setting; the selected bars each, where bars are meant.

    A bar's or section's own setting that would hide it is taken away. Raises an InputError.
    """
    if extent is Extent.BAR:
        first, last = work.selection
        for number in range(first, last + 1):
            song = set_setting(song, Scope(bar=number), name, value)
        return song
    section = work.bar.section
    for bar in song.bars:
        inside = extent is Extent.SONG or bar.section == section
        if inside and getattr(bar.own.settings, name, None) is not None:
            song = set_setting(song, Scope(bar=bar.number), name, None)
    if extent is Extent.SONG:
        for index, each in enumerate(song.sections):
            if getattr(each.settings, name, None) is not None:
                song = set_setting(song, Scope(section=index), name, None)
    return set_setting(song, scope_of(work, extent), name, value)


def set_figure(work: Work, hand: Hand, extent: Extent, figure: str) -> Work:
    """A figure, by tokens or name, for one hand. Raises an InputError."""
    song = with_setting(work, work.song, extent, hand.value, figure)
    return change(work, song, f"{hand.value.capitalize()} hand, {extent}: {figure}")


def own_figure_away(work: Work) -> Work:
    """The bar follows its section again, in both hands."""

    def edit(song: Song) -> Song:
        for hand in Hand:
            song = with_setting(work, song, Extent.BAR, hand.value, None)
        return song

    return attempt(work, edit, f"Bar {work.cursor.bar} follows its section")


def steer(work: Work, name: str, step: float) -> Work:
    """One of the four amounts a step up or down: of the selection, else of the section."""
    extent = Extent.BAR if work.anchor is not None else Extent.SECTION
    present = float(getattr(work.bar.settings, name) or 0.0)
    wanted = round(min(1.0, max(0.0, present + step)), 2)
    if wanted == present:
        end = "most" if step > 0 else "least"
        return refuse(work, f"{name} is at its {end} already")
    return attempt(
        work,
        lambda song: with_setting(work, song, extent, name, wanted),
        f"{name} {wanted:g}, {'selection' if extent is Extent.BAR else extent}",
    )


def take_of(work: Work) -> int:
    """The take that plays under the cursor."""
    return work.song.sections[work.bar.section].take or work.song.take


def another_take(work: Work, step: int = 1) -> Work:
    """The section's next take (or the one before)."""
    wanted = take_of(work) + step
    if wanted < 1:
        return refuse(work, "This is the first take")
    scope = Scope(section=work.bar.section)
    return attempt(work, lambda song: set_setting(song, scope, "take", wanted), f"Take {wanted}")


def peak_here(work: Work) -> Work:
    """The section's arc peaks at the bar under the cursor; there once more, where it falls."""
    section, bar = work.song.sections[work.bar.section], work.bar
    wanted = None if section.peak == bar.in_section else bar.in_section
    name = f"The section peaks at bar {bar.number}" if wanted else "The peak is found again"
    scope = Scope(section=bar.section)
    return attempt(work, lambda song: set_setting(song, scope, "peak", wanted), name)


def pin_shape(work: Work, shape: str | None) -> Work:
    """Hold the bar's first shape as it is, or let it go."""
    number = work.cursor.bar
    said = f"Bar {number}: shape {shape} pinned" if shape else f"Bar {number}: shape free again"
    return attempt(work, lambda song: set_bar_option(song, number, "shape", shape), said)


def next_shape(work: Work, part: Part, step: int) -> Work:
    """Pin the bar's first shape, one inversion higher (or lower)."""
    here = [shape for shape in part.shapes if shape.bar == work.cursor.bar]
    if not here:
        return refuse(work, "The right hand has no shape in this bar")
    pitches = sorted(here[0].pitches, key=lambda pitch: pitch.midi)
    octave = Interval(7, 12)
    moved = (
        [*pitches[1:], pitches[0] + octave] if step > 0 else [pitches[-1] - octave, *pitches[:-1]]
    )
    return pin_shape(work, " ".join(pitch.name for pitch in moved))


def keep(work: Work, part: Part) -> Work:
    """Keep the bar (or the selection) as it is now, or let it go again."""
    from engine.arrange import keep_bar

    first, last = work.selection
    let_go = all(bar.own.keep is not None for bar in work.song.bars[first - 1 : last])

    def edit(song: Song) -> Song:
        for number in range(first, last + 1):
            kept = None if let_go else keep_bar(work.song, part, number)
            song = set_bar_option(song, number, "keep", kept)
        return song

    word = "let go" if let_go else "kept as it is"
    bars = f"Bar {first}" if first == last else f"Bars {shown((first, last))}"
    return attempt(work, edit, f"{bars} {word}")


def typed_setting(work: Work, name: str, extent: Extent, text: str) -> Work:
    """A setting as typed; nothing typed takes it away. Raises an InputError."""
    value = text.strip() or None
    if name in AMOUNTS or name in ("key", "meter", "tempo", "arc", "register"):
        song = with_setting(work, work.song, extent, name, value)
    else:
        typed = in_lines(value) if name == "melody" and value else value
        song = set_setting(work.song, scope_of(work, extent), name, typed)
    return change(work, song, f"{name}: {text.strip() or 'as before'}")


def setting_text(work: Work, name: str, extent: Extent) -> str:
    """How a setting would be typed as it stands."""
    section = work.song.sections[work.bar.section]
    if name in ("title", "composer"):
        return str(getattr(work.song, name))
    if name == "melody":
        return on_one_line(section.melody or "")
    if name == "name":
        return section.name
    found = getattr(work.bar.settings, name, None)
    if extent is Extent.SONG:
        found = getattr(work.song.settings, name, found)
    if isinstance(found, float):
        return f"{found:g}"
    return "" if found is None else str(getattr(found, "name", found))
