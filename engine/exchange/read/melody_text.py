"""Notes of a melody as ABC note text, the form that a section's `melody` has."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from engine.exchange.read.source import SourceNote
from engine.key import Key
from engine.pitch import Pitch
from engine.song.abc import default_unit
from engine.song.abc_words import with_words
from engine.song.syllables import HELD, Words

if TYPE_CHECKING:
    from engine.exchange.read.harmonies import FrameBar

_SIGNS = {-2: "__", -1: "_", 0: "=", 1: "^", 2: "^^"}
BARS_A_LINE = 4


def melody_text(notes: Sequence[SourceNote], bars: Sequence[FrameBar], key: Key) -> str:
    """The melody of some bars, bar by bar, with its words; empty where nothing sounds in them.

    Where notes overlap, the one that begins last is heard.
    """
    inside = [n for n in notes if n.onset < bars[-1].end and n.end > bars[0].start]
    if not inside:
        return ""
    line = _one_voice(inside)
    unit = default_unit(bars[0].meter)
    sung: list[Words] = []
    onsets = [note.onset for note in line]
    texts: list[str] = []
    for bar in bars:
        low = max(0, bisect_right(onsets, bar.start) - 1)
        high = bisect_left(onsets, bar.end)
        texts.append(_bar(line[low:high], bar, key, unit, sung))
    rows = [
        " | ".join(texts[at : at + BARS_A_LINE]) + " |" for at in range(0, len(texts), BARS_A_LINE)
    ]
    return with_words("\n".join(rows), key, bars[0].meter, sung)


def _one_voice(notes: Sequence[SourceNote]) -> list[SourceNote]:
    """The notes without overlaps; of notes struck together the highest."""
    top: dict[Fraction, SourceNote] = {}
    for note in notes:
        if note.onset not in top or top[note.onset].midi < note.midi:
            top[note.onset] = note
    out = sorted(top.values(), key=lambda note: note.onset)
    for n, (note, after) in enumerate(pairwise(out)):
        out[n] = replace(note, duration=min(note.end, after.onset) - note.onset)
    return out


def _bar(
    line: Sequence[SourceNote], bar: FrameBar, key: Key, unit: Fraction, sung: list[Words]
) -> str:
    """A bar's text; the words of its notes are put behind those `sung` before."""
    texts: list[str] = []
    held: dict[tuple[str, int], int] = {}
    at = bar.start
    for note in line:
        if note.end <= bar.start or note.onset >= bar.end:
            continue
        low, high = max(note.onset, bar.start), min(note.end, bar.end)
        if low > at:
            texts.append("z" + _length((low - at) / unit))
        spelled = note.pitch or _spelled(note.midi, key)
        tie = "-" if note.end > bar.end else ""
        texts.append(_note(spelled, key, held) + _length((high - low) / unit) + tie)
        begins = note.onset >= bar.start
        sung.append(note.words if begins else tuple(each and HELD for each in note.words))
        at = high
    if at < bar.end:
        texts.append("z" + _length((bar.end - at) / unit))
    return " ".join(texts)


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
