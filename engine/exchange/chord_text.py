"""The chart as plain text that people and other programs read."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm

from engine.exchange.lines import BARS_A_LINE
from engine.exchange.printed import clean
from engine.meter import Meter
from engine.song import Bar, Song


def chord_text(song: Song) -> str:
    """The chart as plain text: a heading a section, four bars a line."""
    facts = f"{song.key.name}  {song.meter.name}  {song.tempo:g} beats a minute"
    lines = [clean(song.title), facts]
    for index, section in enumerate(song.sections):
        lines += ["", f"[{clean(section.name)}]"]
        bars = [bar for bar in song.bars if bar.section == index]
        texts = [bar_as_text(bar) for bar in bars]
        lines += [
            "| " + " | ".join(texts[at : at + BARS_A_LINE]) + " |"
            for at in range(0, len(texts), BARS_A_LINE)
        ]
    return "\n".join(lines) + "\n"


def bar_as_text(bar: Bar) -> str:
    """A bar's chords; with a dot for every beat held where they do not share it equally."""
    pieces = [
        (slot.onset, slot.chord.symbol if slot.chord is not None else slot.typed)
        for slot in bar.slots
    ]
    return slots_text(bar.meter, pieces)


def slots_text(meter: Meter, pieces: Sequence[tuple[Fraction, str]]) -> str:
    """Chords with their onsets from the bar's start as one bar of a chart."""
    onsets = [onset for onset, _ in pieces]
    texts = [text for _, text in pieces]
    count = len(pieces)
    if count == len(meter.groups) and count > 1:
        equal = onsets == list(meter.group_starts)
    else:
        equal = all(onset == n * meter.bar / count for n, onset in enumerate(onsets))
    if equal:
        return " ".join(texts)
    return " ".join(_beats(meter, pieces))


def _beats(meter: Meter, pieces: Sequence[tuple[Fraction, str]]) -> list[str]:
    out: list[str] = []
    for n in range(max(1, meter.beats)):
        low = n * meter.beat
        inside = {onset: text for onset, text in pieces if low <= onset < low + meter.beat}
        if not inside:
            out.append(".")
        elif list(inside) == [low]:
            out.append(inside[low])
        else:
            out.append(_divided(low, meter.beat, inside))
    return out


def _divided(low: Fraction, beat: Fraction, inside: dict[Fraction, str]) -> str:
    """One beat in brackets, divided finely enough for its chords."""
    parts = lcm(*((((onset - low) / beat).denominator) for onset in inside), 1)
    parts = max(2, parts)
    places = [low + n * beat / parts for n in range(parts)]
    return "(" + " ".join(inside.get(place, ".") for place in places) + ")"
