"""The singer's pack: the song in a few keys, each with range, starting note and lead sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from engine.exchange.engrave import Pictures, title_data
from engine.exchange.paging import heading_mm
from engine.exchange.printed import printed
from engine.exchange.sheets.leads import lead_score
from engine.exchange.typeset import A4, PPI, Form, Paper, typeset
from engine.harmony import analyse
from engine.key import Key
from engine.pitch import Interval, Pitch
from engine.song import Song, transpose
from engine.song.melody import MelodyNote, melody_notes

#: The song's own key, a tone lower and a minor third higher.
KEYS = (Interval(0, 0), Interval(-1, -2), Interval(2, 3))
#: The height of a key's heading with the table under it, and of a row of that table.
_TABLE_MM, _ROW_MM = 7.0, 5.5
#: Air between the sheet's heading and the first key's.
_UNDER_MM = 4.5


def singers_pack_pages(
    song: Song,
    form: Form = "pdf",
    *,
    intervals: Sequence[Interval] = KEYS,
    paper: Paper = A4,
    ppi: float = PPI,
) -> list[bytes]:
    """The song in each key on pages of its own, each key written with few signs."""
    music = Pictures(paper, form, ppi)
    keys: list[dict[str, Any]] = []
    for interval in intervals:
        moved = transpose(song, easier(song.key, interval)) if interval.semitones else song
        melody = melody_notes(moved)
        score = lead_score(moved, analyse(moved), melody)
        facts = key_facts(moved, melody)
        over = heading_mm("singer", song.composer) + _UNDER_MM if not keys else 0.0
        keys.append(
            {
                "name": f"In {moved.key.symbol}",
                "facts": [{"name": name, "text": printed(text)} for name, text in facts],
                "systems": music.add(score, first=over + _TABLE_MM + _ROW_MM * len(facts)),
            }
        )
    data: dict[str, Any] = {**title_data(song, "Singer's pack"), "keys": keys}
    return typeset("singer", data, music.svgs, form, paper=paper, ppi=ppi)


def easier(key: Key, interval: Interval) -> Interval:
    """The interval, or the other way to write it, whichever leads to a key of fewer signs."""
    ways = [Interval(interval.steps + by, interval.semitones) for by in (0, -1, 1)]
    return min(ways, key=lambda way: abs(key.moved(way).signature))


def key_facts(song: Song, notes: Sequence[MelodyNote]) -> list[tuple[str, str]]:
    """Range and starting note of the melody, and what the piano plays before it, in words."""
    first = next(
        (slot.chord.pretty for bar in song.bars for slot in bar.slots if slot.chord), "none"
    )
    if not notes:
        return [("First chord", first), ("Range", "no melody is written in this song")]
    pitches: list[Pitch] = [note.pitch for note in notes]
    low = min(pitches, key=lambda pitch: pitch.midi)
    high = max(pitches, key=lambda pitch: pitch.midi)
    start = notes[0]
    bar = song.bar_at(start.onset)
    beat = bar.beat_of(start.onset - bar.start)
    return [
        ("Range", f"{low.symbol} to {high.symbol}, {low.to(high).words}"),
        ("Starting note", f"{start.pitch.symbol}, bar {bar.number}, beat {float(beat):g}"),
        ("First chord", first),
    ]
