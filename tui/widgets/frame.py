"""What stands above and below the panes: the title line, the transport line, the keys that work."""

from __future__ import annotations

from fractions import Fraction

from engine.song import Bar
from engine.workshop import (
    EntryKind,
    Hands,
    ListKind,
    Tone,
    Work,
    dial,
    laddering,
    loop_text,
    practice,
    stepping,
    typing,
)
from tui.commands import Keymap, hints
from tui.draw import Sheet, cut, wrapped
from tui.view import View
from tui.widgets.about import signed_symbol
from tui.widgets.chart import section_letter
from tui.widgets.chord import beat_text
from tui.widgets.line import draw_entry
from tui.widgets.melody import has_melody

#: What asks for a line below the panes rather than in one.
_ASKED_BELOW = {
    EntryKind.MELODY: "Melody",
    EntryKind.TEMPO: "Playing tempo",
    EntryKind.LOOP: "Loop bars, or from beat to beat like 7.3-8.2",
    EntryKind.TRANSPOSE: "To which key, by which interval, or for a voice like A3-D5",
    EntryKind.GO_TO: "Go to bar",
    EntryKind.SAVE_AS: "Save as",
    EntryKind.RENDER: "Write to",
    EntryKind.FIGURE_NAME: "Keep this bar's figure as",
}


#: More than the state on the transport line has items.
_ALL = 99


def draw_header(view: View, width: int) -> Sheet:
    """Title, key, meter, tempo, sections, take, whether all is saved."""
    sheet = Sheet(width, 1)
    song, bar = view.work.shown, view.bar
    facts = (bar.key.symbol, bar.meter.name, f"{_beat_sign(bar)} = {bar.tempo:g}")
    right = "edited" if view.work.edited else ("saved" if view.work.path else "")
    take = view.work.song.sections[view.work.bar.section].take or view.work.song.take
    note = f"take {take}   {right}"
    x = sheet.put(1, 0, cut(song.title or "Untitled", max(10, width // 3)), "chart-title")
    if x + sum(3 + len(text) for text in facts) + len(note) + 9 > width:  # a section's letter too
        note = right
    start = width - len(note) - 1
    for text in facts:
        if x + 3 + len(text) + 2 > start:
            break
        x = sheet.put(x + 3, 0, text, "dim")
    sheet.put(start, 0, note, "focus" if right == "edited" else "dim")
    _sections(sheet, view, x + 4, start)
    return sheet


def _sections(sheet: Sheet, view: View, at: int, until: int) -> None:
    """The song's sections, the one under the cursor bold; what fits from it on, where room ends."""
    here = view.bar.section
    names = []
    for index, section in enumerate(view.work.shown.sections):
        letter = section_letter(index)
        own = section.name.strip()
        names.append(own if own.split(",")[0] == letter else f"{letter} {own}".strip())
    if at + len(names[here]) + 3 > until:
        names[here] = section_letter(here)
    fits = at + sum(len(name) + 3 for name in names) <= until
    for index in range(0 if fits else here, len(names)):
        if at + len(names[index]) + 3 > until:
            break
        at = sheet.put(at, 0, names[index], "bold" if index == here else "faint") + 3


def _beat_sign(bar: Bar) -> str:
    """The note that the meter's tempo counts."""
    signs = {"1/2": "half", "1/4": "♩", "3/8": "♩.", "1/8": "eighth"}
    return signs.get(str(bar.meter.beat), "beat")


def draw_transport(view: View, width: int) -> Sheet:
    """One line: where it plays, loop, tempo, hands, click; then what is to be said."""
    sheet = Sheet(width, 1)
    entry, label = view.work.entry, _asked(view)
    if entry is not None and label:
        x = sheet.put(1, 0, label, "bold")
        draw_entry(sheet, x, 0, entry, typing.fault(view.work), least=12)
        at = _beside_line(view)
        text, style = _reason(view), str(view.work.notice.tone)
        if typing.fault(view.work) is not None:
            text, style, _ = _said(view, width - at - 1)
        if not _reason_below(view, width):
            sheet.put(at, 0, cut(text, width - at - 1), style)
        return sheet
    ends = [1]
    for text, style in _state(view, width):
        ends.append(sheet.put(ends[-1], 0, text, style) + 2)
    said, style, least = _said(view, _room(view, width))
    said = _on_two_lines(view, width)[0] or said
    x = max(ends[min(least, len(ends) - 1)], min(ends[-1], width - len(said) - 1))
    if said and x < ends[-1]:  # what stood there goes whole, never half
        kept = max((end for end in ends if end <= x), default=0)
        sheet.put(kept, 0, " " * (width - kept))
    if said:
        sheet.put(x, 0, cut(said, width - x - 1), style)
    return sheet


def _asked(view: View) -> str:
    """What is asked in the transport line, `Save as: `; empty where nothing is."""
    entry = view.work.entry
    if entry is None or not (entry.kind in _ASKED_BELOW or entry.name):
        return ""
    label = _ASKED_BELOW.get(entry.kind) or f"{entry.name} of {entry.extent}"
    if entry.kind is EntryKind.DIAL:
        label = dial(entry.name).title
    if entry.kind is EntryKind.MELODY:
        bars = practice.shown((entry.at.bar, entry.last))
        label = f"Melody of bar{'s' if entry.last > entry.at.bar else ''} {bars}"
    return f"{label}: "


def _beside_line(view: View) -> int:
    """The column after the line that is typed in the transport line."""
    entry = view.work.entry
    return 1 + len(_asked(view)) + max(14, len(entry.text) + 3 if entry else 0)


def _reason_below(view: View, width: int) -> bool:
    """Whether the reason that a line was not taken stands under it, for want of room beside it."""
    plain = view.work.notice.tone is Tone.PLAIN
    if plain or not _asked(view) or typing.fault(view.work) is not None:
        return False
    return len(_reason(view)) > width - _beside_line(view) - 1


def _reason(view: View) -> str:
    """Why a line was not taken, without what stands in it anyway."""
    text, entry = view.work.notice.text, view.work.entry
    own = f"“{entry.text.strip()}”" if entry else ""
    if entry and entry.name:  # `reach is “eleventh”; write …`: the line itself asks for the reach
        text = text.removeprefix(f"{entry.name} is {own}; ")
    return text.removeprefix(own).lstrip(": ") if own else text


def _room(view: View, width: int) -> int:
    """Columns of the transport line that the state leaves."""
    return width - 2 - sum(len(text) + 2 for text, _ in _state(view, width))


def _state(view: View, width: int) -> list[tuple[str, str]]:
    work, sounding = view.work, view.sounding
    if sounding and work.playing:
        bar = work.shown.bars[min(sounding.bar, len(work.shown.bars)) - 1]
        beat = beat_text(Fraction(bar.beat_of(sounding.at) // 1))
        turn = f", pass {sounding.turn}" if work.loop and sounding.turn > 1 and width >= 100 else ""
        state = (f"► bar {sounding.bar}.{beat}{turn}", "good")
        if sounding.beats_left:
            state = (f"► count-in {sounding.beats_left}", "good")
    elif work.steps is not None:
        state = (f"step {work.steps.index + 1} of {len(work.steps.groups)}", "good")
    else:
        state = ("■ stopped", "dim")
    found = [state]
    if work.loop:
        found.append((f"loop {loop_text(work.loop, work.shown)}", "loop"))
    written = work.written_tempo
    tempo = f"{work.now_tempo:g} of {written:g}" if work.tempo is not None else f"{written:g}"
    if work.ladder:
        tempo += f", {work.ladder.clean} of {work.ladder.clean_needed} clean"
    sign = _beat_sign(view.bar)
    sign = f"{sign} =" if sign.isalpha() else sign
    found.append((f"{sign} {tempo}" if work.tempo is None else tempo, ""))
    known = laddering.known_tempo(work) if work.log.loops and not work.ladder else 0
    if known:
        found.append((f"clean {known:g}", "good"))
    if work.hands is not Hands.BOTH:
        hands = work.hands.value if width >= 100 else work.hands.value.replace(" hand", "")
        found.append((hands, "bold"))
    elif width >= 100:
        found.append((work.hands.value, "dim"))
    if work.transpose:
        found.append((f"heard {work.transpose:+d}", "bold"))
    if not work.melody and has_melody(work.shown):
        found.append(("melody off", "bold"))
    if work.click:
        found.append(("click", ""))
    if work.count_in:
        found.append(("count-in", ""))
    return found


def _said(view: View, room: int) -> tuple[str, str, int]:
    """What is to be said, the most urgent first: line fault, notice, trouble, caution, sound.

    With its style, and how much of the state before it must stay: what answers a key may cover
    all of it, what stands longer leaves where the music is, and the sound covers nothing. A
    caution that does not fit into the room stands in the line of keys instead.
    """
    work = view.work
    wrong = typing.fault(work)
    if wrong is not None:
        better = f"; Tab takes {wrong.better}" if wrong.better else ""
        return f"{wrong.message}{better or ('; ' + wrong.cure if wrong.cure else '')}", "trouble", 0
    if work.notice.text:
        tones = {Tone.PLAIN: "", Tone.REFUSAL: "refusal"}
        return work.notice.text, tones.get(work.notice.tone, "trouble"), 0
    if view.stages.trouble:
        return view.stages.trouble, "trouble", 1
    if work.writing is not None:
        cent = f": {100 * work.writing.share:.0f} %" if work.writing.share else " …"
        return f"Writing {work.writing.name}{cent} (Esc stops it)", "", 1
    if 0 < len(caution(view)) <= room:
        return caution(view), "dim", _ALL
    if work.held and work.steps is None:
        return _held(work), "", 1
    found = [each for each in view.stages.findings if each.bar == work.cursor.bar]
    if found and not found[0].waived:
        return f"! {found[0].text}", "refusal", 1
    return view.sound, "faint", _ALL


def _on_two_lines(view: View, width: int) -> tuple[str, str]:
    """A refusal too long for the transport line, the rest for the line of keys; else nothing."""
    text, tone = view.work.notice
    free = view.work.entry is None and view.work.chooser is None
    if tone is Tone.PLAIN or not free or len(text) <= width - 2:
        return "", ""
    first, *rest = wrapped(text, width - 2, 2)
    return first, "".join(rest)


def _held(work: Work) -> str:
    """What is held on the MIDI keyboard, and what would be written."""
    key = work.bar.key
    notes = " ".join(dict.fromkeys(key.spell(midi % 12).symbol for midi in work.held))
    symbol = stepping.held_symbol(work)
    return (
        f"held: {notes} = {signed_symbol(symbol)}: I writes it here" if symbol else f"held: {notes}"
    )


def caution(view: View) -> str:
    """What is said of care at the moment, with the key that puts it away."""
    return f"{view.work.caution} (Esc)" if view.work.caution else ""


def _caution_below(view: View, width: int) -> bool:
    """Whether a caution has no room in the transport line and stands in that of the keys."""
    asked = view.work.entry is not None or view.work.chooser is not None
    return not asked and _room(view, width) < len(caution(view))


def caution_shown(view: View, width: int) -> bool:
    """Whether a caution stands on the screen now, not under something more urgent."""
    if not view.work.caution or _on_two_lines(view, width)[1]:
        return False
    if _caution_below(view, width):
        return True
    return _asked(view) == "" and _said(view, _room(view, width))[0] == caution(view)


def draw_keys_line(view: View, width: int, keymap: Keymap) -> Sheet:
    """The keys that work here and now, as many as fit, and always where help is."""
    sheet = Sheet(width, 1)
    x, end = 1, width - 1
    rest = _on_two_lines(view, width)[1]
    if rest:
        sheet.put(1, 0, rest, _said(view, width)[1])
        return sheet
    if _reason_below(view, width):
        sheet.put(1, 0, cut(_reason(view), width - 2), str(view.work.notice.tone))
        return sheet
    if _caution_below(view, width):
        sheet.put(1, 0, cut(caution(view), width - 2), "dim")
        return sheet
    found = _hints(view, keymap)
    if view.work.entry is None and view.work.chooser is None and view.work.steps is None:
        key, word = next(each for each in found if each[1] == "keys")
        end -= len(key) + len(word) + 3
        sheet.put(sheet.put(end + 2, 0, key, "key") + 1, 0, word, "faint")
        found = tuple(each for each in found if each[1] != "keys")
    for key, word in found:
        if x + len(key) + len(word) + 1 > end:
            break
        x = sheet.put(x, 0, key, "key")
        x = sheet.put(x + 1, 0, word, "faint") + 2
    return sheet


#: What a file's name says of it, as many as there is room for.
_FORMS = (
    (".wav left 60 click", "sound"),
    (".mid", "MIDI"),
    (".pdf", "score"),
    (".lesson.pdf .lead.pdf", "sheets"),
)


def _hints(view: View, keymap: Keymap) -> tuple[tuple[str, str], ...]:
    work = view.work
    if work.entry is not None:
        wrong = typing.fault(work)
        better = (("Tab", f"take {wrong.better}"),) if wrong and wrong.better else ()
        clear = (("Ctrl+U", "clear"),) if work.entry.kind is EntryKind.MELODY else ()
        forms = _FORMS if work.entry.kind is EntryKind.RENDER else ()
        return (("Enter", "take it"), *better, *clear, ("Esc", "leave it"), *forms)
    if work.chooser is not None:
        keys: tuple[tuple[str, str], ...] = (("↑ ↓", "move"), ("Enter", "take it"))
        heard = ("Space", "stop" if work.playing else "hear")
        if work.chooser.kind is ListKind.FIGURES:
            keys += (("Tab", "for bar, section or song"), ("Space", "play"))
        if work.chooser.kind is ListKind.CHORDS:
            one = work.anchor is None
            keys = (("Enter", "take"), *((("a", "all like it"),) if one else ()))
            keys += (("Tab", "A/B"), ("← →", "near, far"), heard, ("Esc", "close"))
            if len(work.bar.slots) > 1 and one:
                keys += (("o", "chord or bar"),)
            return keys
        if work.chooser.kind in (ListKind.MOVES, ListKind.VOICE):
            keys += (("Tab", "A/B"), heard)
        if work.chooser.kind is ListKind.DIALS:
            keys = (("↑ ↓", "move"), ("← →", "turn"), ("Enter", "set it"), ("Space", "play"))
        if work.chooser.kind is ListKind.PLAN:
            keys = (
                ("↑ ↓", "move"),
                ("Enter", "practise it"),
                ("← →", "minutes"),
                ("Tab", "section or song"),
            )
        if work.chooser.kind in (ListKind.PALETTE, ListKind.FIGURES, ListKind.DIALS):
            keys += (("letters", "narrow the list"),)
        return (*keys, ("Esc", "close"))
    if work.steps is not None:
        return (("Space →", "on"), ("←", "back"), ("Esc", "end step mode"))
    return hints(work, keymap)
