"""Notes of a melody as ABC note text, the form that a section's `melody` has."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from engine.exchange.read.source import SourceNote
from engine.key import Key
from engine.pitch import Pitch
from engine.song.abc import default_unit

if TYPE_CHECKING:
    from engine.exchange.read.harmonies import FrameBar

_SIGNS = {-2: "__", -1: "_", 0: "=", 1: "^", 2: "^^"}
BARS_A_LINE = 4


def melody_text(notes: Sequence[SourceNote], bars: Sequence[FrameBar], key: Key) -> str:
    """The melody of some bars, bar by bar; empty where nothing sounds in them.

    Where notes overlap, the one that begins last is heard.
    """
    inside = [n for n in notes if n.onset < bars[-1].end and n.end > bars[0].start]
    if not inside:
        return ""
    line = _one_voice(inside)
    unit = default_unit(bars[0].meter)
    texts = [_bar(line, bar, key, unit) for bar in bars]
    rows = [
        " | ".join(texts[at : at + BARS_A_LINE]) + " |" for at in range(0, len(texts), BARS_A_LINE)
    ]
    return "\n".join(rows)


def _one_voice(notes: Sequence[SourceNote]) -> list[tuple[Fraction, Fraction, Pitch | None, int]]:
    """(onset, end, pitch, midi) without overlaps; of notes struck together the highest."""
    top: dict[Fraction, SourceNote] = {}
    for note in notes:
        if note.onset not in top or top[note.onset].midi < note.midi:
            top[note.onset] = note
    ordered = sorted(top.values(), key=lambda note: note.onset)
    out: list[tuple[Fraction, Fraction, Pitch | None, int]] = []
    for n, note in enumerate(ordered):
        end = min(note.end, ordered[n + 1].onset) if n + 1 < len(ordered) else note.end
        out.append((note.onset, end, note.pitch, note.midi))
    return out


def _bar(
    line: Sequence[tuple[Fraction, Fraction, Pitch | None, int]],
    bar: FrameBar,
    key: Key,
    unit: Fraction,
) -> str:
    words: list[str] = []
    held: dict[tuple[str, int], int] = {}
    at = bar.start
    for onset, end, pitch, midi in line:
        if end <= bar.start or onset >= bar.end:
            continue
        low, high = max(onset, bar.start), min(end, bar.end)
        if low > at:
            words.append("z" + _length((low - at) / unit))
        spelled = pitch or _spelled(midi, key)
        tie = "-" if end > bar.end else ""
        words.append(_note(spelled, key, held) + _length((high - low) / unit) + tie)
        at = high
    if at < bar.end:
        words.append("z" + _length((bar.end - at) / unit))
    return " ".join(words)


def _spelled(midi: int, key: Key) -> Pitch:
    return Pitch.near(key.spell(midi % 12), midi)


def _note(pitch: Pitch, key: Key, held: dict[tuple[str, int], int]) -> str:
    letter, octave = pitch.note.letter, pitch.octave
    usual = next(note.alter for note in key.scale if note.letter == letter)
    in_force = held.get((letter, octave), usual)
    alter = max(-2, min(2, pitch.note.alter))
    sign = ""
    if alter != in_force:
        sign = _SIGNS[alter]
        held[letter, octave] = alter
    if octave >= 5:
        return sign + letter.lower() + "'" * (octave - 5)
    return sign + letter + "," * (4 - octave)


def _length(value: Fraction) -> str:
    if value == 1:
        return ""
    if value.denominator == 1:
        return str(value)
    top = "" if value.numerator == 1 else str(value.numerator)
    return f"{top}/{value.denominator}"
