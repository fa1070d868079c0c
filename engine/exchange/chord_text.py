"""The chart as plain text that people and other programs read."""

from __future__ import annotations

from fractions import Fraction

from engine.exchange.lines import BARS_A_LINE
from engine.song import Bar, Song


def chord_text(song: Song) -> str:
    """The chart as plain text: a heading a section, four bars a line."""
    lines = [song.title, f"{song.key.name}  {song.meter.name}  {song.tempo:g} beats a minute"]
    for index, section in enumerate(song.sections):
        lines += ["", f"[{section.name}]"]
        bars = [bar for bar in song.bars if bar.section == index]
        texts = [bar_as_text(bar) for bar in bars]
        lines += [
            "| " + " | ".join(texts[at : at + BARS_A_LINE]) + " |"
            for at in range(0, len(texts), BARS_A_LINE)
        ]
    return "\n".join(lines) + "\n"


def bar_as_text(bar: Bar) -> str:
    """A bar's chords; with a dot for every beat held where they do not share it equally."""
    share = bar.meter.bar / len(bar.slots)
    texts = [slot.chord.symbol if slot.chord is not None else slot.typed for slot in bar.slots]
    if all(slot.duration == share for slot in bar.slots) and not _groups_differ(bar):
        return " ".join(texts)
    return " ".join(_beats(bar, texts))


def _groups_differ(bar: Bar) -> bool:
    lengths = set(bar.meter.group_lengths)
    return len(lengths) > 1 and len(bar.slots) == len(bar.meter.groups)


def _beats(bar: Bar, texts: list[str]) -> list[str]:
    out: list[str] = []
    beat = bar.meter.beat
    for n in range(bar.meter.beats):
        low = n * beat
        inside = [
            (slot.onset, text)
            for slot, text in zip(bar.slots, texts, strict=True)
            if low <= slot.onset < low + beat
        ]
        if not inside:
            out.append(".")
        elif len(inside) == 1 and inside[0][0] == low:
            out.append(inside[0][1])
        else:
            out.append(_divided(low, beat, dict(inside)))
    return out


def _divided(low: Fraction, beat: Fraction, inside: dict[Fraction, str]) -> str:
    """One beat in brackets, divided finely enough for its chords."""
    parts = 2
    while any((onset - low) % (beat / parts) for onset in inside) and parts < 64:
        parts += 1
    places = [low + n * beat / parts for n in range(parts)]
    return "(" + " ".join(inside.get(place, ".") for place in places) + ")"
