"""A part in a few lines: how much each hand plays, how far it ranges, what it adds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from engine.part import Part
from engine.song import Song


def overview_lines(song: Song, part: Part) -> Iterator[str]:
    """A line a hand, then the notes outside the chords and what breaks a rule."""
    yield ""
    beats = song.end / song.meter.beat
    for hand in ("right", "left"):
        notes = [note for note in part.notes if note.hand == hand]
        if not notes:
            yield f"{hand} hand: silent"
            continue
        low = min(notes, key=lambda note: note.pitch.midi).pitch
        high = max(notes, key=lambda note: note.pitch.midi).pitch
        density = float(len(notes) / beats)
        span = f"{low.symbol} to {high.symbol}"
        yield f"{hand} hand: {len(notes)} notes, {density:.1f} a beat, {span}"
    outside = Counter(str(note.role) for note in part.notes if note.role.outside)
    if outside:
        yield "outside the chords: " + ", ".join(f"{n} {role}" for role, n in outside.most_common())
    for finding in part.findings:
        if not finding.waived:
            yield f"bar {finding.bar}: {finding.rule}: {finding.text}"
